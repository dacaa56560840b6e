#include "space_curves.hpp"

#include <algorithm>
#include <cmath>

namespace evenbevel::edges {
namespace {

// Waves along the blade shorter than two knots are noise: as for one photo.
constexpr double kKnotsMm = 4.0, kHeightKnotsMm = 25.0, kDepthKnotsMm = 40.0;
// How much neighbouring coefficients bend (standard deviations): wide for what belts and files do.
constexpr double kBendMm = 0.03, kHeightBendMm = 0.2, kDepthBendMm = 0.05;
// Below the lines the flats begin at the broken corner.
constexpr double kCornerDepthMm = 0.02, kRicassoDepthMm = 0.05;

}  // namespace

Border border_of(EdgeTrace::Kind kind) {
  switch (kind) {
    case EdgeTrace::Kind::flat_left:
      return Border::flat_left;
    case EdgeTrace::Kind::flat_right:
      return Border::flat_right;
    case EdgeTrace::Kind::scribe_left:
    case EdgeTrace::Kind::land_left:
      return Border::inner_left;
    case EdgeTrace::Kind::scribe_right:
    case EdgeTrace::Kind::land_right:
      return Border::inner_right;
  }
  return Border::flat_left;
}

SpaceCurves::SpaceCurves(Stage stage, Stretch flats, Stretch inner, int first_unknown)
    : stage_(stage), inner_(inner) {
  const Basis flat = stage == Stage::bevelled
                         ? Basis::line(flats.begin_mm, flats.end_mm)
                         : Basis::smooth(flats.begin_mm, flats.end_mm, kKnotsMm);
  const Basis edge = Basis::smooth(inner.begin_mm, inner.end_mm, kKnotsMm);
  t_ = {{flat}, {flat}, {edge}, {edge}};
  z_ = {{Basis::smooth(std::min(flats.begin_mm, inner.begin_mm),
                       std::max(flats.end_mm, inner.end_mm), kHeightKnotsMm)}};
  const Basis depth = stage == Stage::ground
                          ? Basis::smooth(inner.begin_mm, inner.end_mm, kDepthKnotsMm)
                          : Basis::constant();
  depth_ = {{depth}, {depth}};
  end_ = first_unknown;
  for (std::vector<Part>* parts : {&t_, &z_, &depth_}) {
    for (Part& part : *parts) {
      part.first = end_;
      end_ += part.basis.count();
    }
  }
}

Row SpaceCurves::row(const Part& part, double s_mm, bool slope) {
  const Basis::Weights weights = part.basis.at(s_mm);
  Row out;
  for (int i = 0; i < weights.count; ++i) {
    const auto k = static_cast<std::size_t>(i);
    out.emplace_back(part.first + weights.first + i, slope ? weights.slope[k] : weights.value[k]);
  }
  return out;
}

Row SpaceCurves::z(Border border, double s_mm) const {
  Row out = row(z_.front(), s_mm, false);
  if (border == Border::flat_left || border == Border::flat_right) {
    append(out, depth(border, s_mm), -1.0);
  }
  return out;
}

Eigen::Vector3d SpaceCurves::point(Border border, double s_mm, const BladeDirections& blade,
                                   const Eigen::VectorXd& unknowns) const {
  return blade.along * s_mm + blade.across * dot(t(border, s_mm), unknowns) +
         blade.up * dot(z(border, s_mm), unknowns);
}

void SpaceCurves::start(Eigen::VectorXd& unknowns, const std::array<double, 4>& t_mm, double z_mm,
                        double depth_mm) const {
  const auto fill = [&](const Part& part, double value) {
    unknowns.segment(part.first, part.basis.count()).setConstant(value);
  };
  for (std::size_t b = 0; b < t_.size(); ++b) fill(t_[b], t_mm[b]);
  fill(z_.front(), z_mm);
  for (const Part& part : depth_) fill(part, depth_mm);
}

void SpaceCurves::add_bending(NormalEquations& equations, const Eigen::VectorXd& unknowns,
                              const Part& part, double u_mm) const {
  for (int i = part.first; i + 2 < part.first + part.basis.count(); ++i) {
    const Row bend{{i, 1.0}, {i + 1, -2.0}, {i + 2, 1.0}};
    equations.add(Cause::shape, bend, -dot(bend, unknowns), u_mm);
  }
}

void SpaceCurves::add_priors(NormalEquations& equations, const Eigen::VectorXd& unknowns,
                             const EdgeSettings& settings) const {
  for (const Part& part : t_) add_bending(equations, unknowns, part, kBendMm);
  add_bending(equations, unknowns, z_.front(), kHeightBendMm);
  for (const Border flat : {Border::flat_left, Border::flat_right}) {
    const Part& part = depth_of(flat);
    if (stage_ != Stage::ground) {
      const Row constant{{part.first, 1.0}};
      equations.add(Cause::shape, constant, -dot(constant, unknowns),
                    stage_ == Stage::scribed ? kCornerDepthMm : kRicassoDepthMm);
      continue;
    }
    add_bending(equations, unknowns, part, kDepthBendMm);
    // depth tan(angle) = width, in the middle.
    const double middle = 0.5 * (inner_.begin_mm + inner_.end_mm);
    const bool left = flat == Border::flat_left;
    const double sign = left ? 1.0 : -1.0;
    const double tan = std::tan(settings.facet_angle_rad);
    Row row = depth(flat, middle);
    append(row, t(flat, middle), -sign / tan);
    append(row, t(left ? Border::inner_left : Border::inner_right, middle), sign / tan);
    const double width = tan * dot(depth(flat, middle), unknowns) - tan * dot(row, unknowns);
    const double sin = std::sin(settings.facet_angle_rad);
    equations.add(Cause::shape, row, -dot(row, unknowns),
                  std::max(std::abs(width), 0.1) / (sin * sin) * kFacetAngleU_rad);
  }
}

}  // namespace evenbevel::edges
