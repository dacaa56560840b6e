#include "report/choil_quantities.hpp"

#include <array>

namespace evenbevel {
namespace {

constexpr QuantityKind kLength = QuantityKind::length;
constexpr QuantityKind kSigned = QuantityKind::signed_length;
constexpr QuantityKind kAngle = QuantityKind::angle;

constexpr std::array kNames = {
    QuantityName{"edge_thickness", "edge thickness", kLength, kAtAGlance},
    QuantityName{"thickness_at", "thickness behind the edge", kLength},
    QuantityName{"included_angle", "included angle", kAngle, kAtAGlance},
    QuantityName{"angle_left", "angle, left", kAngle, kAtAGlance},
    QuantityName{"angle_right", "angle, right", kAngle, kAtAGlance},
    QuantityName{"asymmetry", "asymmetry, left - right half", kSigned, kAtAGlance},
    QuantityName{"bow_left", "bow of the left side", kSigned},
    QuantityName{"bow_right", "bow of the right side", kSigned},
    QuantityName{"hollow_radius_left", "wheel radius, left", kLength, kAtAGlance},
    QuantityName{"hollow_radius_right", "wheel radius, right", kLength, kAtAGlance},
    QuantityName{"stock_thickness", "thickness between the flats", kLength},
};

constexpr std::array kDepthQuantities = {
    QuantityOf<ChoilDepth>{"thickness", "thickness", &ChoilDepth::thickness_mm},
    QuantityOf<ChoilDepth>{"half_left", "left half", &ChoilDepth::half_left_mm},
    QuantityOf<ChoilDepth>{"half_right", "right half", &ChoilDepth::half_right_mm},
    QuantityOf<ChoilDepth>{"asymmetry", "left - right", &ChoilDepth::asymmetry_mm, kSigned},
};

std::optional<Measured> value_of(const ChoilResult& result, std::string_view name) {
  if (name == "edge_thickness") return result.edge_thickness_mm;
  if (name == "included_angle") return result.included_angle_rad;
  if (name == "angle_left") return result.left.angle_rad;
  if (name == "angle_right") return result.right.angle_rad;
  if (name == "asymmetry") return result.asymmetry_mm;
  if (name == "bow_left") return result.left.bow_mm;
  if (name == "bow_right") return result.right.bow_mm;
  if (name == "hollow_radius_left") return result.left.hollow_radius_mm;
  if (name == "hollow_radius_right") return result.right.hollow_radius_mm;
  if (name == "stock_thickness") return result.stock_thickness_mm;
  return std::nullopt;
}

}  // namespace

std::vector<Quantity> choil_quantities(const ChoilResult& result) {
  std::vector<Quantity> all;
  for (const QuantityName& what : kNames) {
    const std::optional<Measured> value = measured(value_of(result, what.name));
    if (value) all.push_back({what, *value});
  }
  return all;
}

std::span<const QuantityName> choil_quantity_names() { return kNames; }
std::span<const QuantityOf<ChoilDepth>> depth_quantities() { return kDepthQuantities; }

const std::vector<ChoilDepth>& choil_stations(const ChoilResult& result) {
  return result.outline.empty() ? result.depths : result.outline;
}

}  // namespace evenbevel
