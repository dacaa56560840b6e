#pragma once

#include <functional>
#include <span>
#include <vector>

#include <Eigen/Core>

namespace evenbevel {

// Fits of curves to scattered readings. No units of their own: what comes out has the unit of what
// went in. Every stated uncertainty holds the scatter of the readings, not a wrong model: a bent
// edge fitted by a line gets a small uncertainty and a large sigma. Readings are taken as
// independent; neighbours along a trace that share pixels are not, thin them first.

// --- Middle and scatter -------------------------------------------------------------------------

/// Middle value; the mean of the middle two for an even count. @pre Not empty, all finite.
double median(std::span<const double> values);

/// Standard deviation from the median distance to `centre`, times 1.4826 (consistent for normal
/// readings; half of the readings may be wild). @pre Not empty.
double mad_sigma(std::span<const double> values, double centre);

/// A robust mean of repeated readings.
struct Location {
  double value = 0.0;
  double u = 0.0;      ///< Standard uncertainty of value.
  double sigma = 0.0;  ///< Scatter of one reading, outliers left out.
  double dof = 0.0;    ///< Behind u.
  int used = 0;        ///< Readings with any weight.
};

/// Tukey's biweight about the median, 95 % efficient for normal readings.
/// @throws Error  Fewer than 2 values.
Location robust_location(std::span<const double> values);

// --- Line ---------------------------------------------------------------------------------------

struct LineFit {
  Eigen::Vector2d centre{};      ///< Weighted centroid of the points: the line runs through it.
  double direction_rad = 0.0;    ///< In (-pi/2, pi/2].
  Eigen::Matrix2d covariance{};  ///< Of (offset across the line at the centre, direction_rad).
  double sigma = 0.0;  ///< Scatter across the line over N - 2; in units of the u given, if given.
  double dof = 0.0;
  int used = 0;                 ///< Points with any weight.
  std::vector<double> weights;  ///< A point each, 0..1: how much the robust fit trusts it.

  Eigen::Vector2d direction() const;  ///< Unit vector.
  Eigen::Vector2d normal() const;     ///< direction(), a quarter turn from x toward y.
  double distance(const Eigen::Vector2d& point) const;  ///< Signed, along normal().
  double u_at(const Eigen::Vector2d& point) const;      ///< Of the line's place, across, beside it.
};

/// Straight line through points, minimising squared distances across the line.
///
/// @param points  N >= 3.
/// @throws Error  Fewer than 3 points, or all of them in one place.
///
/// Source: K. Pearson, Philosophical Magazine 2 (1901), 559-572.
LineFit fit_line(std::span<const Eigen::Vector2d> points);

/// The same with a standard uncertainty for each point, alike in all directions. The covariance
/// takes them as they are stated; sigma near 1 says that they are right.
LineFit fit_line(std::span<const Eigen::Vector2d> points, std::span<const double> u);

/// The same with Tukey's weights from a least-median start: up to 40 % of the points may be wild.
///
/// Covariance: J. O. Street, R. J. Carroll and D. Ruppert, The American Statistician 42 (1988),
/// 152-154, as for any M-estimate.
LineFit fit_line_robust(std::span<const Eigen::Vector2d> points);

/// A point with uncertainties of its own in x and y, and their correlation.
struct YorkPoint {
  double x = 0.0, y = 0.0;
  double u_x = 0.0, u_y = 0.0;  ///< Not both zero.
  double correlation = 0.0;
};

struct YorkLine {
  double intercept = 0.0, slope = 0.0;
  Eigen::Matrix2d covariance{};  ///< Of (intercept, slope), from the stated uncertainties.
  double chi2 = 0.0;             ///< Near dof when the stated uncertainties are right.
  double dof = 0.0;
};

/// y = intercept + slope x through points with uncertainties in both coordinates. Not for lines
/// near the vertical.
///
/// @throws Error  Fewer than 3 points, or no spread in x.
///
/// Source: D. York, N. M. Evensen, M. Lopez Martinez and J. De Basabe Delgado, American Journal of
/// Physics 72 (2004), 367-375.
YorkLine fit_line_york(std::span<const YorkPoint> points);

// --- Circle -------------------------------------------------------------------------------------

struct CircleFit {
  Eigen::Vector2d centre{};
  double radius = 0.0;
  Eigen::Matrix3d covariance{};  ///< Of (centre x, centre y, radius).
  double sigma = 0.0;            ///< Scatter across the circle, over N - 3.
  double dof = 0.0;
  int used = 0;
  std::vector<double> weights;  ///< As in LineFit.
};

/// Circle that minimises squared distances to it (geometric fit). A short arc tells little of the
/// radius: covariance says how little.
///
/// @param points  N >= 4.
/// @throws Error  Too few points, or all of them on a straight line.
CircleFit fit_circle(std::span<const Eigen::Vector2d> points);

/// The same with Tukey's weights: up to 30 % of the points may be wild.
CircleFit fit_circle_robust(std::span<const Eigen::Vector2d> points);

// --- Any model ----------------------------------------------------------------------------------

/// Writes the residuals at `parameters` and, where `jacobian` is not null, their derivatives. Both
/// come sized to (residuals) and (residuals x parameters).
using ResidualFunction = std::function<void(const Eigen::VectorXd& parameters,
                                            Eigen::VectorXd& residuals, Eigen::MatrixXd* jacobian)>;

struct LeastSquaresOptions {
  int iterations = 200;
  double damping = 1e-2;     ///< At the start; 100 for a start far off.
  double tolerance = 1e-12;  ///< Stops when a step changes every parameter less, relatively.
};

struct LeastSquaresFit {
  Eigen::VectorXd parameters;
  Eigen::MatrixXd covariance;  ///< sigma^2 (J^T J)^-1 at the optimum.
  double sum_squares = 0.0;
  double sigma = 0.0;  ///< Of one residual, over residuals - parameters.
  double dof = 0.0;
  int iterations = 0;
  bool converged = false;
};

/// Levenberg-Marquardt with the columns scaled to length 1.
/// @pre residual_count >= start.size(). With equal counts sigma and covariance are zero.
LeastSquaresFit least_squares(const ResidualFunction& model, const Eigen::VectorXd& start,
                              int residual_count, const LeastSquaresOptions& options = {});

// --- Curve along the blade ----------------------------------------------------------------------

struct SmoothCurveOptions {
  bool estimate_scale = true;  ///< The u given are right up to a common factor, found here.
  double reject_beyond = 4.0;  ///< Standard deviations; a reading farther out is left out.
  double shortest_wave = 0.0;  ///< Waves shorter than this are noise, whatever the readings say;
                               ///< set it where neighbours share their errors. Never below four
                               ///< mean spacings, which is also what 0 stands for.
};

/// A smooth curve through readings along x, with its uncertainty at any x.
///
/// The cubic smoothing spline, seen as the mean of an integrated random walk (so that the interval
/// holds the curve's freedom between readings and beyond the ends, where it grows with the 3/2
/// power of the distance). How far it may bend is found from the readings by restricted maximum
/// likelihood; outliers are left out.
///
/// Sources: G. Wahba, Journal of the Royal Statistical Society B 45 (1983), 133-150 (intervals);
/// P. De Jong, Annals of Statistics 19 (1991), 1073-1083 (start without a prior).
class SmoothCurve {
 public:
  struct Reading {
    double value = 0.0, u = 0.0;  ///< Of the curve, not of one more reading.
    double slope = 0.0, slope_u = 0.0;
  };

  Reading at(double x) const;

  double scale() const { return scale_; }  ///< Factor on the u given; 1 when not estimated.
  /// Readings used less what the curve has used up; infinite when the scale is not estimated.
  double dof() const { return dof_; }
  const std::vector<bool>& used() const { return used_; }  ///< A reading each: not an outlier.

 private:
  friend SmoothCurve smooth_curve(std::span<const double> x, std::span<const double> y,
                                  std::span<const double> u, const SmoothCurveOptions& options);
  friend class SmoothCurveFitter;

  /// (value, slope) as a function of the unknown (value, slope) at the first reading: columns 0
  /// and 1 multiply it, column 2 is added.
  using Affine = Eigen::Matrix<double, 2, 3>;

  struct State {
    Affine mean = Affine::Zero();
    Eigen::Matrix2d covariance = Eigen::Matrix2d::Zero();  ///< With the start held fixed.
  };

  struct Knot {
    double x = 0.0;
    State after;  ///< From the readings up to and with this one.
    State all;    ///< From all readings.
  };

  static State ahead(const State& state, double distance, double bend);
  static State smoothed(const State& here, const State& next_predicted, const State& next_all,
                        double distance);
  Reading reading(const State& state) const;

  std::vector<Knot> knots_;
  Eigen::Vector2d start_{};             ///< (value, slope) at the first reading,
  Eigen::Matrix2d start_covariance_{};  ///< and its covariance, for scale 1.
  double bend_ = 0.0;  ///< Variance of the slope's walk, per unit of x, for scale 1.
  double scale_ = 1.0;
  double dof_ = 0.0;
  std::vector<bool> used_;
};

/// @param x  Not falling; at least 4 readings, at 3 different places.
/// @param u  Standard uncertainty of each reading, above zero; or empty: all alike.
/// @throws Error  Too few readings.
SmoothCurve smooth_curve(std::span<const double> x, std::span<const double> y,
                         std::span<const double> u, const SmoothCurveOptions& options = {});

}  // namespace evenbevel
