#pragma once

#include <array>
#include <vector>

#include <Eigen/Core>

#include "basis.hpp"
#include "evenbevel/edge_view.hpp"
#include "normal_equations.hpp"

namespace evenbevel::edges {

/// Of a facet's angle before it is measured: 8 degrees, wide enough to hold any edge.
inline constexpr double kFacetAngleU_rad = 0.14;

/// The blade's directions in the card frame: s to the tip, t to the left face, up from the card.
struct BladeDirections {
  Eigen::Vector3d along, across, up;
};

/// The four borders that a joint solve follows in space. Inner: scribe lines, or the land's.
enum class Border { flat_left, flat_right, inner_left, inner_right };
inline constexpr std::array kBorders = {Border::flat_left, Border::flat_right, Border::inner_left,
                                        Border::inner_right};
Border border_of(EdgeTrace::Kind kind);

/// Where the traces of several photos run, in s.
struct Stretch {
  double begin_mm, end_mm;
};

/// Borders as curves t(s) and heights z(s) above the card. The inner two share one height; each
/// flat's border lies `depth` below it.
class SpaceCurves {
 public:
  /// @param first_unknown  Place of the first coefficient among all unknowns.
  SpaceCurves(Stage stage, Stretch flats, Stretch inner, int first_unknown);

  Row t(Border border, double s_mm) const { return row(of(border), s_mm, false); }
  Row t_slope(Border border, double s_mm) const { return row(of(border), s_mm, true); }
  Row z(Border border, double s_mm) const;  ///< Height above the card.
  Row depth(Border flat, double s_mm) const { return row(depth_of(flat), s_mm, false); }

  /// Point in the card frame.
  Eigen::Vector3d point(Border border, double s_mm, const BladeDirections& blade,
                        const Eigen::VectorXd& unknowns) const;

  /// Straight at this height and depth, t as given.
  void start(Eigen::VectorXd& unknowns, const std::array<double, 4>& t_mm, double z_mm,
             double depth_mm) const;

  /// Curves bend little from knot to knot; what the stage says of the depths.
  void add_priors(NormalEquations& equations, const Eigen::VectorXd& unknowns,
                  const EdgeSettings& settings) const;

  int end_unknown() const { return end_; }
  Stretch inner() const { return inner_; }

 private:
  struct Part {
    Basis basis;
    int first = 0;
  };
  static Row row(const Part& part, double s_mm, bool slope);
  const Part& of(Border border) const { return t_[static_cast<std::size_t>(border)]; }
  const Part& depth_of(Border flat) const {
    return flat == Border::flat_left ? depth_[0] : depth_[1];
  }
  void add_bending(NormalEquations& equations, const Eigen::VectorXd& unknowns, const Part& part,
                   double u_mm) const;

  Stage stage_;
  Stretch inner_;
  std::vector<Part> t_, depth_;
  std::vector<Part> z_;  // One.
  int end_ = 0;
};

}  // namespace evenbevel::edges
