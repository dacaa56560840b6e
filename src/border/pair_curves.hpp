#pragma once

#include <optional>
#include <span>
#include <vector>

#include <Eigen/Core>
#include <Eigen/SparseCore>

#include "evenbevel/trace.hpp"

namespace evenbevel {

// Two borders close together (the land's, or two scribe lines) as one smooth model along the blade:
// their middle and their distance are curves, and all pixels of all bands are fitted at once. Where
// one border hardly shows, the other one and the distance carry it; what every band says counts by
// its contrast over its own noise.

/// One band across both borders, with a model whose positions 0 and 1 are the two borders.
struct PairBand {
  double s_mm = 0.0;
  double px_per_mm = 1.0;
  double zero_mm = 0.0;  ///< t of the samples' zero.
  /// What each colour shows: borders lie alike in all, levels do not. As many in all bands.
  std::vector<std::vector<ProfileSample>> colours;
  ProfileModel model;  ///< Positions and amplitudes are found; parts and blur are taken as given.
};

/// What one band says of its two borders: log-likelihood to second order about `at_mm`.
struct PairInformation {
  double s_mm = 0.0;
  Eigen::Vector2d at_mm = Eigen::Vector2d::Zero();            ///< Low, high.
  Eigen::Matrix2d information = Eigen::Matrix2d::Zero();      ///< 1/mm^2.
  Eigen::Vector2d gradient = Eigen::Vector2d::Zero();         ///< 1/mm, toward the likeliest.
  Eigen::Vector2d contrast_sigmas = Eigen::Vector2d::Zero();  ///< Each border's step over its u.
  /// How far a burr moves each border as it is read, mm a mm of its width were it as bright as the
  /// brightest surface about: minus that brightness over the border's step. 0: borders that are
  /// lines.
  Eigen::Vector2d per_burr = Eigen::Vector2d::Zero();
  double residual = 0.0;  ///< RMS over the larger amplitude.
};

/// A burr's width times its brightness over the brightest surface's, mm, standard uncertainty: a
/// few hundredths of a mm wide before the edge is honed, and about as bright as the facet it hangs
/// from (common practice, no source), so that a tenth of it stands out. More where the photo shows
/// more: a brighter one makes the land's width wander along the blade.
inline constexpr double kBurrMm = 0.003;
inline constexpr double kBurrWaveMm = 20.0;  ///< It changes over about this length.

/// How fast the distance of a pair may change along the blade, at most: variance of its slope's
/// walk per mm. A belt-ground land's width changes by hundredths of a mm over several cm; two lines
/// of one height gauge stay parallel, here to 2 micrometres over 100 mm (common practice, no
/// source).
enum class PairWidth { wanders, parallel };

/// Middle and distance as natural spline curves with their covariance. A burr, or a corner that
/// mirrors the lamp, lies along a step as a line of light too narrow to be told from a shift of it,
/// the larger the fainter the step is. Faint steps count for less by that, and what burrs may do to
/// the curves is stated apart (a "consider" parameter: Schmidt, Advances in Control Systems 3
/// (1966), 293-340; from memory).
class PairCurves {
 public:
  struct Place {
    double low_mm, high_mm;
    double u_low_mm, u_high_mm, u_width_mm;
    double u_middle_mm;  ///< What bands leave unknown: it averages out along the blade.
    double u_burr_mm;    ///< And what burrs do, of the middle: it does not.
  };
  Place at(double s_mm) const;
  double scale() const { return scale_; }  ///< Scatter of the bands over what noise makes.

 private:
  friend PairCurves fit_pair_curves(std::span<const PairInformation> bands, PairWidth width);
  struct Weights {
    Eigen::Index first;  ///< Of four knots in a row.
    Eigen::Vector4d of;
  };
  Weights weights(double s_mm) const;
  /// Of the middle and the width at a place, from that of all knots.
  static Eigen::Matrix2d covariance_at(const Weights& at, const Eigen::MatrixXd& of_knots);
  /// Right-hand sides of the normal equations for a burr of unit width about each of its knots, the
  /// low border's and the high one's in turn.
  Eigen::MatrixXd pulls_of_burrs(std::span<const PairInformation> bands,
                                 std::span<const double> trust) const;
  using Banded = Eigen::SparseMatrix<double>;
  struct Normal {
    Banded matrix;
    Eigen::VectorXd right;
  };
  Normal normal_equations(std::span<const PairInformation> bands,
                          std::span<const double> trust) const;
  /// Finds the stiffness that makes the bands likeliest, and its coefficients.
  /// @return The normal equations' matrix with it; empty: none could be solved.
  std::optional<Banded> stiffen(const Normal& data, double softest_width);
  /// How far each band is trusted: a speck or a scratch may have spoilt it.
  /// @return Scatter beyond noise, squared.
  double weigh(std::span<const PairInformation> bands, double phi, std::span<double> trust) const;

  double first_mm_ = 0.0, knot_mm_ = 1.0;
  Eigen::Index knots_ = 0;
  Eigen::VectorXd coefficients_;           ///< Middle's and width's in turn, knot by knot.
  Eigen::MatrixXd covariance_, by_burrs_;  ///< All of it, and what of it burrs make.
  double scale_ = 1.0;
};

/// How stiff either curve is comes from the bands by maximum likelihood, within what a ground edge
/// does: the middle wanders in waves of some cm, the width changes more slowly yet.
/// @pre At least 4 bands, in order of s.
PairCurves fit_pair_curves(std::span<const PairInformation> bands,
                           PairWidth width = PairWidth::wanders);

/// Every band expanded about the curves' own places, and the curves fitted to all, by turns from
/// a wide blur to the true one.
/// @param start_mm  Low and high of each band, within a px or two.
std::vector<PairInformation> pair_information(std::span<const PairBand> bands,
                                              std::span<const Eigen::Vector2d> start_mm,
                                              PairWidth width = PairWidth::wanders);

}  // namespace evenbevel
