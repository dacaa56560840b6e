#include <algorithm>
#include <cmath>

#include "advice/bevel_zones.hpp"
#include "advice/plunges.hpp"
#include "evenbevel/advice.hpp"

namespace evenbevel {
namespace {

bool resolved(const std::optional<Measured>& value) {
  return value && std::abs(value->value) > U95(*value);
}

std::string_view higher(const Measured& difference_mm) {
  return name(difference_mm.value > 0.0 ? Face::left : Face::right);
}

Remark one_face_remark(const SideResult& result) {
  if (result.faces.empty()) return remark<RemarkCode::nothing_measured>();
  const bool left = result.faces.front().face == Face::left;
  return remark<RemarkCode::one_face_only>(name(left ? Face::left : Face::right),
                                           name(left ? Face::right : Face::left));
}

/// Where no station asks for anything.
Remark nothing_to_bring_up(const SideResult& result, std::optional<double> tolerance_mm) {
  const std::optional<Measured>& worst = result.bevel_height_difference_worst_mm;
  if (!worst) return remark<RemarkCode::bevels_not_compared>();
  const double size_mm = std::abs(worst->value);
  if (!resolved(worst) || !tolerance_mm) {
    return remark<RemarkCode::bevels_as_one>(size_mm, U95(*worst));
  }
  return remark<RemarkCode::leave_bevels>(higher(*worst), size_mm, U95(*worst), result.worst_x_mm,
                                          *tolerance_mm);
}

double most_mm(const std::vector<BevelZone>& zones, Face face) {
  double most = 0.0;
  for (const BevelZone& zone : zones) {
    if (zone.grind == face) most = std::max(most, zone.most_mm.value);
  }
  return most;
}

/// One a face that has something to lose; that with more of it first.
std::vector<Remark> grind_remarks(const std::vector<BevelZone>& zones) {
  const bool left_first = most_mm(zones, Face::left) > most_mm(zones, Face::right);
  std::vector<Remark> remarks;
  for (const Face face :
       {left_first ? Face::left : Face::right, left_first ? Face::right : Face::left}) {
    if (auto grind = grind_face_remark(zones, face)) remarks.push_back(std::move(*grind));
  }
  return remarks;
}

Remark lean_remark(const Measured& difference_rad) {
  return remark<RemarkCode::plunge_leans>(higher(difference_rad),
                                          degrees(std::abs(difference_rad.value)),
                                          degrees(U95(difference_rad)));
}

}  // namespace

std::vector<Remark> side_advice(const SideResult& result, std::optional<double> tolerance_mm) {
  if (result.faces.size() < 2) return {one_face_remark(result)};
  std::vector<Remark> advice = grind_remarks(bevel_zones(result, tolerance_mm));
  if (advice.empty()) advice = {nothing_to_bring_up(result, tolerance_mm)};
  if (resolved(result.bevel_height_difference_mm)) {
    const Measured& mean = *result.bevel_height_difference_mm;
    advice.push_back(
        remark<RemarkCode::bevel_higher_on_average>(higher(mean), std::abs(mean.value), U95(mean)));
  }
  if (auto plunges = plunge_remark(result.plunge_mismatch_mm))
    advice.push_back(std::move(*plunges));
  if (resolved(result.plunge_angle_difference_rad)) {
    advice.push_back(lean_remark(*result.plunge_angle_difference_rad));
  }
  return advice;
}

}  // namespace evenbevel
