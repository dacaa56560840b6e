#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>

#include <Eigen/LU>

#include "evenbevel/error.hpp"
#include "evenbevel/fit.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel {
namespace {

/// Carries (value, slope) over a distance, either way.
Eigen::Matrix2d carry(double distance) {
  Eigen::Matrix2d F;
  F << 1.0, distance, 0.0, 1.0;
  return F;
}

/// What the slope's random walk adds to the covariance of (value, slope) over a distance.
Eigen::Matrix2d wander(double distance, double bend) {
  const double d = std::abs(distance);
  Eigen::Matrix2d Q;
  Q << d * d * d / 3.0, distance * d / 2.0, distance * d / 2.0, d;
  return bend * Q;
}

}  // namespace

/// Finds the curve: one filter pass up the readings, one smoothing pass back down.
class SmoothCurveFitter {
 public:
  SmoothCurveFitter(std::span<const double> x, std::span<const double> y, std::span<const double> u,
                    const SmoothCurveOptions& options);

  SmoothCurve fit();

 private:
  using State = SmoothCurve::State;
  using Knot = SmoothCurve::Knot;

  /// Sums over the innovations of one filter pass.
  struct Evidence {
    Eigen::Matrix3d normal = Eigen::Matrix3d::Zero();  ///< Of (start, innovation) / variance.
    double log_variances = 0.0;
    double readings = 0.0;

    double rest() const;                         ///< Weighted squares that no start explains.
    double deviance(bool estimate_scale) const;  ///< -2 log restricted likelihood.
    double dof() const { return readings - 2.0; }
  };

  static constexpr int kPlacesNeeded = 3;

  int places(const std::vector<bool>& used) const;
  void update(State& state, std::size_t i, Evidence& evidence) const;
  Evidence filter(double bend, std::vector<Knot>* knots) const;
  double deviance(double log_bend) const;
  double best_bend() const;
  void smooth(SmoothCurve& curve) const;
  SmoothCurve curve_of_used() const;
  std::vector<double> standardised(const SmoothCurve& curve) const;
  void leave_out_far_from_neighbours();
  bool leave_out_far_from(const SmoothCurve& curve);

  std::span<const double> x_, y_;
  std::vector<double> u_;
  SmoothCurveOptions options_;
  std::vector<bool> used_;
  double typical_u_ = 1.0;
};

SmoothCurve::State SmoothCurve::ahead(const State& state, double distance, double bend) {
  const Eigen::Matrix2d F = carry(distance);
  return {.mean = F * state.mean,
          .covariance = F * state.covariance * F.transpose() + wander(distance, bend)};
}

SmoothCurve::State SmoothCurve::smoothed(const State& here, const State& next_predicted,
                                         const State& next_all, double distance) {
  const Eigen::Matrix2d F = carry(distance);
  Eigen::Matrix2d gain = carry(-distance);  // two readings at one place: nothing in between
  if (distance > 0.0) {
    gain = here.covariance * F.transpose() * next_predicted.covariance.inverse();
  }
  return {.mean = here.mean + gain * (next_all.mean - next_predicted.mean),
          .covariance = here.covariance + gain * (next_all.covariance - next_predicted.covariance) *
                                              gain.transpose()};
}

SmoothCurve::Reading SmoothCurve::reading(const State& state) const {
  const Eigen::Matrix2d by_start = state.mean.leftCols<2>();
  const Eigen::Vector2d mean = by_start * start_ + state.mean.col(2);
  const Eigen::Matrix2d covariance =
      state.covariance + by_start * start_covariance_ * by_start.transpose();
  return {.value = mean(0),
          .u = scale_ * std::sqrt(std::max(0.0, covariance(0, 0))),
          .slope = mean(1),
          .slope_u = scale_ * std::sqrt(std::max(0.0, covariance(1, 1)))};
}

SmoothCurve::Reading SmoothCurve::at(double x) const {
  const auto next = std::upper_bound(knots_.begin(), knots_.end(), x,
                                     [](double place, const Knot& knot) { return place < knot.x; });
  if (next == knots_.begin()) return reading(ahead(next->all, x - next->x, bend_));
  const Knot& last = *std::prev(next);
  if (next == knots_.end() || last.x == x) return reading(ahead(last.all, x - last.x, bend_));
  const State here = ahead(last.after, x - last.x, bend_);
  const double distance = next->x - x;
  return reading(smoothed(here, ahead(here, distance, bend_), next->all, distance));
}

SmoothCurveFitter::SmoothCurveFitter(std::span<const double> x, std::span<const double> y,
                                     std::span<const double> u, const SmoothCurveOptions& options)
    : x_(x), y_(y), u_(u.begin(), u.end()), options_(options), used_(x.size(), true) {
  assert(x.size() == y.size() && (u.empty() || u.size() == x.size()));
  assert(std::is_sorted(x.begin(), x.end()));
  if (u_.empty()) u_.assign(x.size(), 1.0);
  const int found = places(used_);
  if (x.size() < 4 || found < kPlacesNeeded) {
    throw Error("a curve along the blade has " + std::to_string(x.size()) + " readings at " +
                    std::to_string(found) + " places, 4 at 3 places are needed",
                "make more of the edge visible, then take the photo again");
  }
  typical_u_ = median(u_);
}

/// How many different places along x the used readings have.
int SmoothCurveFitter::places(const std::vector<bool>& used) const {
  int count = 0;
  double last = std::numeric_limits<double>::quiet_NaN();
  for (std::size_t i = 0; i < x_.size(); ++i) {
    if (!used[i] || x_[i] == last) continue;
    last = x_[i];
    ++count;
  }
  return count;
}

double SmoothCurveFitter::Evidence::rest() const {
  const Eigen::Matrix2d by_start = normal.topLeftCorner<2, 2>();
  const Eigen::Vector2d mixed = normal.topRightCorner<2, 1>();
  return std::max(normal(2, 2) - mixed.dot(by_start.inverse() * mixed), 1e-300);
}

double SmoothCurveFitter::Evidence::deviance(bool estimate_scale) const {
  const double start = std::log(normal.topLeftCorner<2, 2>().determinant());
  const double fit = estimate_scale ? dof() * std::log(rest() / dof()) : rest();
  return fit + log_variances + start;
}

void SmoothCurveFitter::update(State& state, std::size_t i, Evidence& evidence) const {
  const double variance = state.covariance(0, 0) + u_[i] * u_[i];
  Eigen::RowVector3d innovation = -state.mean.row(0);
  innovation(2) += y_[i];
  Eigen::Vector3d moment = innovation.transpose();
  moment.head<2>() *= -1.0;  // derivative of the prediction, not of the innovation
  evidence.normal += moment * moment.transpose() / variance;
  evidence.log_variances += std::log(variance);
  evidence.readings += 1.0;
  const Eigen::Vector2d gain = state.covariance.col(0) / variance;
  state.mean += gain * innovation;
  // Joseph's form: stays a covariance however small the variance.
  Eigen::Matrix2d keep = Eigen::Matrix2d::Identity();
  keep.col(0) -= gain;
  state.covariance =
      keep * state.covariance * keep.transpose() + u_[i] * u_[i] * gain * gain.transpose();
}

SmoothCurveFitter::Evidence SmoothCurveFitter::filter(double bend, std::vector<Knot>* knots) const {
  Evidence evidence;
  State state;
  state.mean.leftCols<2>().setIdentity();
  for (std::size_t i = 0; i < x_.size(); ++i) {
    if (i > 0) state = SmoothCurve::ahead(state, x_[i] - x_[i - 1], bend);
    if (used_[i]) update(state, i, evidence);
    if (knots != nullptr) knots->push_back({.x = x_[i], .after = state, .all = state});
  }
  return evidence;
}

double SmoothCurveFitter::deviance(double log_bend) const {
  return filter(std::exp(log_bend), nullptr).deviance(options_.estimate_scale);
}

double SmoothCurveFitter::best_bend() const {
  const double length = x_.back() - x_.front();
  const double spacing = length / static_cast<double>(x_.size() - 1);
  const double u2 = typical_u_ * typical_u_;
  // A spline passes half of a wave of angular frequency w where bend = u^2 spacing w^4.
  const double shortest_wave = std::max(options_.shortest_wave, 4.0 * spacing);
  const double highest = std::log(u2 * spacing * std::pow(2.0 * kPi / shortest_wave, 4));
  // At the other end the curve strays from a straight line by u / 1000 over its length.
  const double lowest = std::min(std::log(3e-6 * u2 / (length * length * length)), highest);
  constexpr int kSteps = 24;
  const double step = (highest - lowest) / kSteps;
  double best = lowest, least = std::numeric_limits<double>::infinity();
  for (int i = 0; i <= kSteps; ++i) {
    const double here = deviance(lowest + i * step);
    if (here < least) {
      least = here;
      best = lowest + i * step;
    }
  }
  double half = 0.5 * step;
  while (half > 0.02) {
    for (const double candidate : {best - half, best + half}) {
      const double here = deviance(std::clamp(candidate, lowest, highest));
      if (here < least) {
        least = here;
        best = std::clamp(candidate, lowest, highest);
      }
    }
    half *= 0.5;
  }
  return std::exp(best);
}

void SmoothCurveFitter::smooth(SmoothCurve& curve) const {
  std::vector<Knot>& knots = curve.knots_;
  for (std::size_t i = knots.size() - 1; i-- > 0;) {
    const double distance = knots[i + 1].x - knots[i].x;
    const State predicted = SmoothCurve::ahead(knots[i].after, distance, curve.bend_);
    knots[i].all = SmoothCurve::smoothed(knots[i].after, predicted, knots[i + 1].all, distance);
  }
}

SmoothCurve SmoothCurveFitter::curve_of_used() const {
  SmoothCurve curve;
  curve.bend_ = best_bend();
  const Evidence evidence = filter(curve.bend_, &curve.knots_);
  curve.start_covariance_ = evidence.normal.topLeftCorner<2, 2>().inverse();
  curve.start_ = curve.start_covariance_ * evidence.normal.topRightCorner<2, 1>();
  smooth(curve);
  curve.used_ = used_;
  curve.dof_ = std::numeric_limits<double>::infinity();
  if (!options_.estimate_scale) return curve;
  double used_up = 0.0;
  for (std::size_t i = 0; i < x_.size(); ++i) {
    const double u = curve.reading(curve.knots_[i].all).u;  // for scale 1 so far
    if (used_[i]) used_up += u * u / (u_[i] * u_[i]);
  }
  const double for_the_bend = 1.0;  // found from the same readings
  curve.dof_ = std::max(1.0, evidence.readings - used_up - for_the_bend);
  curve.scale_ = std::sqrt(evidence.rest() / std::max(1.0, evidence.dof() - for_the_bend));
  return curve;
}

/// How far each reading lies from what the others say there, in standard deviations.
std::vector<double> SmoothCurveFitter::standardised(const SmoothCurve& curve) const {
  std::vector<double> z(x_.size());
  for (std::size_t i = 0; i < x_.size(); ++i) {
    const SmoothCurve::Reading fitted = curve.reading(curve.knots_[i].all);
    const double own = curve.scale_ * u_[i] * curve.scale_ * u_[i];
    const double variance =
        used_[i] ? std::max(own - fitted.u * fitted.u, 1e-6 * own) : own + fitted.u * fitted.u;
    z[i] = variance > 0.0 ? (y_[i] - fitted.value) / std::sqrt(variance) : 0.0;
  }
  return z;
}

/// First guess, before there is a curve: against the median of as many neighbours on either side.
void SmoothCurveFitter::leave_out_far_from_neighbours() {
  const std::size_t n = x_.size(), widest = std::clamp<std::size_t>(n / 10, 3, 10);
  std::vector<double> z(n);
  for (std::size_t i = 0; i < n; ++i) {
    const std::size_t half = std::min({widest, i, n - 1 - i});
    z[i] = (y_[i] - median(y_.subspan(i - half, 2 * half + 1))) / u_[i];
  }
  const double scatter = mad_sigma(z, 0.0);
  const double scale = options_.estimate_scale ? scatter : std::max(1.0, scatter);
  if (!(scale > 0.0)) return;
  const double margin = 1.5 * options_.reject_beyond;  // the median does not follow a bend
  for (std::size_t i = 0; i < n; ++i) used_[i] = std::abs(z[i]) <= margin * scale;
}

/// @return  Whether anything changed.
bool SmoothCurveFitter::leave_out_far_from(const SmoothCurve& curve) {
  const std::vector<double> z = standardised(curve);
  const double scale = options_.estimate_scale ? mad_sigma(z, 0.0) : 1.0;
  if (!(scale > 0.0)) return false;
  std::vector<bool> used(z.size());
  for (std::size_t i = 0; i < z.size(); ++i) {
    used[i] = std::abs(z[i]) <= options_.reject_beyond * scale;
  }
  if (used == used_ || places(used) < kPlacesNeeded) return false;
  used_ = std::move(used);
  return true;
}

SmoothCurve SmoothCurveFitter::fit() {
  constexpr std::size_t kEnoughToJudge =
      8;  // with fewer, four that agree by chance outvote the rest
  constexpr int kRounds = 8;
  if (x_.size() < kEnoughToJudge) return curve_of_used();
  leave_out_far_from_neighbours();
  SmoothCurve curve = curve_of_used();
  for (int round = 0; round < kRounds && leave_out_far_from(curve); ++round) {
    curve = curve_of_used();
  }
  return curve;
}

SmoothCurve smooth_curve(std::span<const double> x, std::span<const double> y,
                         std::span<const double> u, const SmoothCurveOptions& options) {
  return SmoothCurveFitter(x, y, u, options).fit();
}

}  // namespace evenbevel
