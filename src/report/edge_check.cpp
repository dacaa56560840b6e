#include "report/edge_check.hpp"

#include <vector>

#include "report/edge_quantities.hpp"

namespace evenbevel {
namespace {

const char* name(LawCheck check) {
  switch (check) {
    case LawCheck::agrees:
      return "agrees";
    case LawCheck::differs:
      return "differs";
    case LawCheck::unresolved:
      return "unresolved";
  }
  return "";
}

const char* label_of(const QuantityCheck& check) {
  for (const EdgeQuantity& quantity : edge_quantities()) {
    if (check.quantity == quantity.name) return quantity.label;
  }
  return "";
}

std::string labels(const EdgeResult& result, LawCheck wanted) {
  std::string all;
  for (const QuantityCheck& check : result.monte_carlo) {
    if (check.comparison.check != wanted) continue;
    all += (all.empty() ? "" : "; ") + std::string(label_of(check));
  }
  return all;
}

Interval interval_of(const Measured& law) { return {law.value - U95(law), law.value + U95(law)}; }

}  // namespace

std::string check_sentence(const EdgeResult& result) {
  if (result.monte_carlo.empty()) return "";
  std::string text = std::to_string(result.monte_carlo.front().monte_carlo.trials) +
                     " Monte Carlo trials against the law of propagation";
  const std::string agrees = labels(result, LawCheck::agrees);
  const std::string differs = labels(result, LawCheck::differs);
  const std::string open = labels(result, LawCheck::unresolved);
  if (!agrees.empty()) text += "; they agree: " + agrees;
  if (!differs.empty()) text += "; they differ: " + differs;
  if (!open.empty()) text += "; too few trials to tell: " + open;
  return text;
}

StatedTable checks_table(const EdgeResult& result) {
  StatedTable table{.name = "monte_carlo",
                    .title = "Monte Carlo check",
                    .columns = {{"quantity", "quantity"},
                                {"law_interval", "law"},
                                {"interval", "Monte Carlo"},
                                {"numerical_tolerance", "tolerance"},
                                {"law", "the law"}}};
  for (const auto& [quantity, law, trials, comparison] : result.monte_carlo) {
    const Interval by_law = interval_of(law);
    Facts& check = table.places.emplace_back().at;
    check.add_text("quantity", quantity).add_count("trials", trials.trials);
    check.add_mm("mean", trials.mean).add_mm("u", trials.u);
    check.add_list("interval", {trials.symmetric.low, trials.symmetric.high});
    check.add_list("shortest_interval", {trials.shortest.low, trials.shortest.high});
    check.add_list("law_interval", {by_law.low, by_law.high});
    check.add_mm("numerical_tolerance", comparison.tolerance);
    check.add_list("ends_apart", {comparison.low, comparison.high});
    check.add_text("law", name(comparison.check));
  }
  return table;
}

}  // namespace evenbevel
