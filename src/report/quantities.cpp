#include "report/quantities.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

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

namespace {

/// "0.42 /cm2": two decimals, as a count over a few dozen square centimetres carries.
Printed printed_over_area(QuantityKind kind, double value, double u95) {
  const bool length = kind == QuantityKind::length_per_area;
  const auto said = [&](double number) {
    return length ? fmt::format("{:.1f} mm/cm2", number) : fmt::format("{:.2f} /cm2", number);
  };
  return {said(value), said(u95)};
}

bool over_area(QuantityKind kind) {
  return kind == QuantityKind::per_area || kind == QuantityKind::length_per_area;
}

}  // namespace

Printed printed(QuantityKind kind, const Measured& value, LengthUnit unit) {
  if (over_area(kind)) return printed_over_area(kind, value.value, U95(value));
  if (kind == QuantityKind::angle) return printed_angle(value);
  return printed_length(value, unit,
                        kind == QuantityKind::signed_length ? Sign::always : Sign::negative_only);
}

Printed printed(QuantityKind kind, const Stated& value, LengthUnit unit) {
  if (over_area(kind)) return printed_over_area(kind, value.value, value.U95);
  if (kind == QuantityKind::angle) return printed_angle(value.value, value.U95);
  return printed_length(value.value, value.U95, unit,
                        kind == QuantityKind::signed_length ? Sign::always : Sign::negative_only);
}

bool resolved(const Measured& value) { return std::abs(value.value) > U95(value); }

}  // namespace evenbevel
