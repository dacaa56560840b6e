#include "report/quantities.hpp"

#include <algorithm>
#include <cmath>

namespace evenbevel {

std::optional<Measured> measured(const std::optional<Measured>& value) {
  if (!value || !std::isfinite(value->value) || !std::isfinite(value->u)) return std::nullopt;
  return value;
}

const QuantityName* find_name(std::span<const QuantityName> names, std::string_view name) {
  const auto found = std::find_if(names.begin(), names.end(), [&](const QuantityName& quantity) {
    return quantity.name == name;
  });
  return found == names.end() ? nullptr : &*found;
}

Printed printed(QuantityKind kind, const Measured& value, LengthUnit unit) {
  if (kind == QuantityKind::angle) return printed_angle(value);
  return printed_length(value, unit,
                        kind == QuantityKind::signed_length ? Sign::always : Sign::negative_only);
}

Printed printed(QuantityKind kind, const Stated& value, LengthUnit unit) {
  if (kind == QuantityKind::angle) return printed_angle(value.value, value.U95);
  return printed_length(value.value, value.U95, unit,
                        kind == QuantityKind::signed_length ? Sign::always : Sign::negative_only);
}

bool resolved(const Measured& value) { return std::abs(value.value) > U95(value); }

}  // namespace evenbevel
