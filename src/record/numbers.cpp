#include "record/numbers.hpp"

#include <algorithm>
#include <limits>
#include <optional>

#include "evenbevel/uncertainty.hpp"
#include "record/report_facts.hpp"
#include "report/quantities.hpp"

namespace evenbevel {
namespace {

/// Carries the U95 that the report stated, whatever its degrees of freedom were.
Measured with_stated_U95(const RecordedValue& value, double factor) {
  const double normal = coverage_factor(std::numeric_limits<double>::infinity());
  return {.value = factor * value.value, .u = factor * value.U95 / normal};
}

}  // namespace

Printed printed_value(const RecordedValue& value, LengthUnit unit) {
  if (const std::optional<QuantityKind> kind = over_area_kind(value.name)) {
    return printed(*kind, Stated{value.value, value.u, value.U95}, unit);
  }
  if (is_angle_name(value.name)) return printed_angle(with_stated_U95(value, radians(1.0)));
  return printed_length(with_stated_U95(value, 1.0), unit,
                        is_signed_name(value.name) ? Sign::always : Sign::negative_only);
}

std::vector<RecordedValue> in_report_order(std::vector<RecordedValue> values) {
  std::ranges::stable_sort(values, {},
                           [](const RecordedValue& value) { return place_in_report(value.name); });
  return values;
}

}  // namespace evenbevel
