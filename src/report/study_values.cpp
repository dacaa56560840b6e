#include "evenbevel/study_report.hpp"
#include "report/edge_quantities.hpp"

namespace evenbevel {

std::vector<NamedValue> edge_values(const EdgeResult& result) {
  std::vector<NamedValue> values;
  for (const EdgeQuantity& quantity : edge_quantities()) {
    NamedValue named{quantity.name, measured(result.*quantity.member)};
    if (named.value && quantity.kind == QuantityKind::angle) {
      named.value->value = degrees(named.value->value);
      named.value->u = degrees(named.value->u);
    }
    values.push_back(std::move(named));
  }
  return values;
}

}  // namespace evenbevel
