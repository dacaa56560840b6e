#include <cmath>

#include "evenbevel/advice.hpp"
#include "evenbevel/face.hpp"

namespace evenbevel {
namespace {

Remark asymmetry_remark(const ChoilResult& result, std::optional<double> tolerance_mm) {
  if (!result.asymmetry_mm) return remark<RemarkCode::halves_not_compared>();
  const double size_mm = std::abs(result.asymmetry_mm->value);
  const double U_mm = U95(*result.asymmetry_mm);
  if (size_mm <= U_mm) return remark<RemarkCode::halves_as_one>(size_mm, U_mm);
  const auto thicker = name(result.asymmetry_mm->value > 0.0 ? Face::left : Face::right);
  if (tolerance_mm && size_mm + U_mm <= *tolerance_mm) {
    return remark<RemarkCode::leave_section>(thicker, size_mm, U_mm, result.asymmetry_depth_mm,
                                             *tolerance_mm);
  }
  return remark<RemarkCode::grind_section>(thicker, size_mm, U_mm, result.asymmetry_depth_mm);
}

std::optional<Remark> shape_remark(Face face, const SectionSide& side) {
  if (side.shape == SideShape::convex && side.bow_mm) {
    return remark<RemarkCode::side_convex>(name(face), side.bow_mm->value, U95(*side.bow_mm));
  }
  if (side.shape != SideShape::hollow || !side.hollow_radius_mm) return std::nullopt;
  RemarkDraft draft(RemarkCode::side_hollow);
  draft.with("face", name(face)).with("radius_mm", side.hollow_radius_mm->value);
  draft.with("diameter_mm", 2.0 * side.hollow_radius_mm->value);
  draft.with("low_mm", side.hollow_radius_low_mm);
  if (side.hollow_radius_low_mm) draft.with("high_mm", side.hollow_radius_high_mm);
  return draft.done();
}

}  // namespace

std::vector<Remark> choil_advice(const ChoilResult& result, std::optional<double> tolerance_mm) {
  std::vector<Remark> advice = {asymmetry_remark(result, tolerance_mm)};
  if (const auto left = shape_remark(Face::left, result.left)) advice.push_back(*left);
  if (const auto right = shape_remark(Face::right, result.right)) advice.push_back(*right);
  return advice;
}

}  // namespace evenbevel
