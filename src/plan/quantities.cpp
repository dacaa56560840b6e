#include "plan/quantities.hpp"

#include <array>
#include <cmath>

#include "units/fixed.hpp"

namespace evenbevel {
namespace {

enum class Kind { length, angle, included_angle };

struct Row {
  PlanQuantity quantity;
  std::string_view name, label;
  Kind kind = Kind::length;
  bool may_be_zero = false;
};

using enum PlanQuantity;
constexpr std::array<Row, kPlanQuantities> kRows{{
    {stock, "stock", "stock"},
    {land, "land", "land", Kind::length, true},
    {scribe_height, "scribe_height", "scribe height"},
    {drill, "drill", "drill"},
    {bevel_height, "bevel_height", "bevel height"},
    {bevel_angle, "bevel_angle", "bevel angle per side", Kind::angle},
    {bevel_included, "bevel_included", "included bevel angle", Kind::included_angle},
    {bevel_face, "bevel_face", "bevel width along the face"},
    {blade_height, "blade_height", "blade height"},
    {flat_height, "flat_height", "flat above the bevel", Kind::length, true},
    {sharpening_angle, "sharpening_angle", "sharpening angle per side", Kind::angle},
    {sharpening_included, "sharpening_included", "included sharpening angle", Kind::included_angle},
    {sharpened_width, "sharpened_width", "sharpened bevel width", Kind::length, true},
    {sharpened_height, "sharpened_height", "sharpened bevel height", Kind::length, true},
    {shoulder_thickness, "shoulder_thickness", "thickness at its shoulder", Kind::length, true},
    {length, "length", "length from plunge to tip"},
    {tip_thickness, "tip_thickness", "thickness at the tip"},
    {taper, "taper", "distal taper", Kind::length, true},
    {taper_angle, "taper_angle", "distal taper per side", Kind::angle, true},
    {rest_length, "rest_length", "rest length"},
    {shim, "shim", "shim for the bevel"},
}};

const Row& row(PlanQuantity quantity) { return kRows[static_cast<std::size_t>(quantity)]; }

}  // namespace

std::vector<PlanQuantity> all_plan_quantities() {
  std::vector<PlanQuantity> all;
  all.reserve(kRows.size());
  for (const Row& each : kRows) all.push_back(each.quantity);
  return all;
}

std::string_view name(PlanQuantity quantity) { return row(quantity).name; }
std::string_view label(PlanQuantity quantity) { return row(quantity).label; }
bool is_angle(PlanQuantity quantity) { return row(quantity).kind != Kind::length; }
bool may_be_zero(PlanQuantity quantity) { return row(quantity).may_be_zero; }

bool in_range(PlanQuantity quantity, double value) {
  if (!std::isfinite(value)) return false;
  if (value == 0.0) return may_be_zero(quantity);
  switch (row(quantity).kind) {
    case Kind::length:
      return value > 0.0;
    case Kind::angle:
      return value > 0.0 && value < 0.5 * kPi;
    case Kind::included_angle:
      return value > 0.0 && value < kPi;
  }
  return false;
}

std::string format_angle(double angle_rad) { return fixed(degrees(angle_rad), 2) + " deg"; }

std::string with_value(PlanQuantity quantity, double value, LengthUnit unit) {
  return std::string(label(quantity)) + ' ' +
         (is_angle(quantity) ? format_angle(value) : format_length(value, unit));
}

InUnits with_value(PlanQuantity quantity, double value) {
  return in_units([&](LengthUnit unit) { return with_value(quantity, value, unit); });
}

std::string listed(const std::vector<std::string>& words) {
  std::string text;
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (i > 0) text += i + 1 == words.size() ? " and " : ", ";
    text += words[i];
  }
  return text;
}

std::string any_of_these(const std::vector<std::vector<PlanQuantity>>& sets) {
  std::string text;
  for (const std::vector<PlanQuantity>& set : sets) {
    std::vector<std::string> words;
    words.reserve(set.size());
    for (const PlanQuantity quantity : set) words.emplace_back(label(quantity));
    text += (text.empty() ? "" : ", or ") + listed(words);
  }
  return text;
}

}  // namespace evenbevel
