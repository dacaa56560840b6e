#pragma once

#include <vector>

#include <Eigen/Core>

namespace evenbevel::edge {

/// A number for each of a patch's samples, row by row.
using PlungeGrid = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;

/// Pixels about one plunge line. a runs along the blade toward the tip (mm, from the land's end), y
/// from the flat's rim (0) toward the land.
struct PlungePatch {
  std::vector<double> a_mm;  ///< Of each column, evenly apart,
  std::vector<double> y_mm;  ///< and of each row: streaks of the unground face run along it.
  PlungeGrid light;
  double a_begin_mm = 0.0, a_end_mm = 0.0;

  int columns() const { return static_cast<int>(a_mm.size()); }
  int rows() const { return static_cast<int>(y_mm.size()); }
  PlungePatch between(double a_begin_mm, double a_end_mm) const;
  PlungePatch halved() const;  ///< Two neighbours along the blade made one.
};

/// The border of the unground face where a facet begins: the wheel's or platen's edge leaves a
/// cylinder across the face, which runs tangentially into the facet. From above, an arc from the
/// rim to the land's border.
struct PlungeOutline {
  double half_mm = 0.0;    ///< a where it stands at half the depth.
  double radius_mm = 0.0;  ///< @pre Larger than the depth.
  double depth_mm = 0.0;   ///< From the rim to the land's border.
  double blur_mm = 0.0;    ///< Gaussian sigma.
  double lean = 0.0;       ///< How far shade and scratches lean along, mm per mm from the land.

  double end_mm() const;       ///< a where the arc meets the land's border,
  double start_mm() const;     ///< and the rim.
  double run_at_half() const;  ///< Along the blade per depth, at half depth.
  /// The same arc and land's border, the rim elsewhere.
  PlungeOutline with_depth(double depth_mm) const;
  /// Distance from the outline and the land's border, positive on the facet's side.
  double inside_mm(double a_mm, double y_mm) const;
};

/// A patch as the unground face on one side of a border, each row with its own level, and shaded
/// and scratched steel on the other, its level a curve along the blade; each side with its own
/// scatter. Levels, trends and scatters are those that suit the border best.
struct PlungeMisfit {
  PlungeGrid loss;       ///< Minus log likelihood.
  PlungeGrid residuals;  ///< Over their scatter.
};
PlungeMisfit plunge_misfit(const PlungePatch& patch, const PlungeOutline& outline);
double plunge_loss(const PlungePatch& patch, const PlungeOutline& outline);  ///< Sum of `loss`.
/// The same for a straight cut across the face at a, leaning by so much, in the outline's place.
double straight_loss(const PlungePatch& patch, const PlungeOutline& outline, double cut_mm,
                     double cut_lean);

/// What is known before looking.
struct OutlinePrior {
  double depth_mm = 0.0, depth_u_mm = 0.0;
  double lean = 0.0, lean_u = 0.0;
  double blur_mm = 0.0, ln_blur_u = 0.0;
  double radius_mm = 0.0, ln_radius_u = 0.0;
};

struct OutlineFit {
  PlungeOutline outline;
  double u_half_mm = 0.0;  ///< Noise, texture, radius, depth and blur; rival places.
  double log_odds = 0.0;   ///< Against a straight cut or none, natural logarithm.
};
/// @pre Room for an arc within the patch.
OutlineFit fit_outline(const PlungePatch& patch, const OutlinePrior& prior);

/// The log odds alone, at half of the cost.
double outline_log_odds(const PlungePatch& patch, const OutlinePrior& prior);

}  // namespace evenbevel::edge
