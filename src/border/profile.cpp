#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <numbers>
#include <utility>

#include <Eigen/Core>

#include "evenbevel/trace.hpp"
#include "fit/dense.hpp"
#include "fit/descent.hpp"

namespace evenbevel {
namespace {

constexpr int kMostIterations = 40;
constexpr double kHuber = 2.5;
constexpr int kFollowScale = 10;  // iterations in which the robust scale still follows
constexpr double kSettledPx = 1e-4;
constexpr double kNearlySettledPx = 2e-3;
constexpr double kNoise = 0.01;  // Of one sample, linear light; only to weigh the prior below.

/// Phi and G(u) = u Phi(u) + phi(u), from a table with Hermite interpolation (error below 2e-9):
/// thousands of small fits spend most of their time here.
struct NormalTable {
  static constexpr double kReach = 6.0;
  static constexpr int kPerUnit = 64;
  static constexpr int kSize = static_cast<int>(2 * kReach) * kPerUnit + 1;
  struct Entry {
    double density, cumulative, integral;
  };
  std::array<Entry, kSize> entries{};

  NormalTable() {
    for (std::size_t i = 0; i < kSize; ++i) {
      const double u = static_cast<double>(i) / kPerUnit - kReach;
      Entry& e = entries[i];
      e.density = std::exp(-0.5 * u * u) / std::sqrt(2.0 * std::numbers::pi);
      e.cumulative = 0.5 * std::erfc(-u / std::numbers::sqrt2);
      e.integral = u * e.cumulative + e.density;
    }
  }
};

const NormalTable kTable;

using NormalValues = NormalTable::Entry;

bool far_below(double u) { return u <= -NormalTable::kReach + 0.1; }
bool far_above(double u) { return u >= NormalTable::kReach - 0.1; }

/// Between two entries, not far below nor above.
struct BetweenEntries {
  const NormalValues &a, &b;
  double h00, h01, h10, h11;

  explicit BetweenEntries(double u) : BetweenEntries(whole(u), scaled(u)) {}

  double density() const { return h00 * a.density + h01 * b.density; }
  double cumulative() const {
    return h00 * a.cumulative + h01 * b.cumulative + h10 * a.density + h11 * b.density;
  }
  double integral() const {
    return h00 * a.integral + h01 * b.integral + h10 * a.cumulative + h11 * b.cumulative;
  }

 private:
  static double scaled(double u) { return (u + NormalTable::kReach) * NormalTable::kPerUnit; }
  static std::size_t whole(double u) { return static_cast<std::size_t>(scaled(u)); }
  BetweenEntries(std::size_t i, double at) : a(kTable.entries[i]), b(kTable.entries[i + 1]) {
    constexpr double kStep = 1.0 / NormalTable::kPerUnit;
    const double f = at - static_cast<double>(i);
    h01 = f * f * (3.0 - 2.0 * f), h00 = 1.0 - h01;
    h10 = f * (1.0 - f) * (1.0 - f) * kStep, h11 = -f * f * (1.0 - f) * kStep;
  }
};

NormalValues normal_values(double u) {
  if (far_below(u)) return {0.0, 0.0, 0.0};
  if (far_above(u)) return {0.0, 1.0, u};
  const BetweenEntries at(u);
  return {at.density(), at.cumulative(), at.integral()};
}

double normal_integral(double u) {
  if (far_below(u)) return 0.0;
  if (far_above(u)) return u;
  return BetweenEntries(u).integral();
}

PartResponse step_response(double t_px, double blur_px) {
  const NormalValues above = normal_values((t_px + 0.5) / blur_px);
  const NormalValues below = normal_values((t_px - 0.5) / blur_px);
  return {blur_px * (above.integral - below.integral), -(above.cumulative - below.cumulative),
          above.density - below.density};
}

/// Parameters in one vector: positions, blur if free, background, amplitudes.
class Problem {
 public:
  Problem(std::span<const ProfileSample> samples, const ProfileModel& start)
      : samples_(samples), model_(start) {}

  int size() const {
    return positions() + (model_.blur_is_free ? 1 : 0) + 1 + static_cast<int>(model_.parts.size());
  }
  int positions() const { return static_cast<int>(model_.positions_px.size()); }
  int nonlinear() const { return positions() + (model_.blur_is_free ? 1 : 0); }

  Eigen::VectorXd pack(const ProfileModel& model) const {
    Eigen::VectorXd p(size());
    int i = 0;
    for (const double position : model.positions_px) p[i++] = position;
    if (model.blur_is_free) p[i++] = model.blur_px;
    p[i++] = model.background;
    for (const ProfilePart& part : model.parts) p[i++] = part.amplitude;
    return p;
  }

  ProfileModel unpack(const Eigen::VectorXd& p) const {
    ProfileModel model = model_;
    int i = 0;
    for (double& position : model.positions_px) position = p[i++];
    if (model.blur_is_free)
      model.blur_px = std::clamp(p[i++], model_.least_blur_px, model_.most_blur_px);
    model.background = p[i++];
    for (ProfilePart& part : model.parts) part.amplitude = p[i++];
    return model;
  }

  /// Residuals (model minus sample). A clipped sample only pulls from below.
  void evaluate(const ProfileModel& model, Eigen::VectorXd& residuals,
                Eigen::MatrixXd& J_rows) const {
    residuals.resize(static_cast<Eigen::Index>(samples_.size()));
    J_rows.setZero(residuals.size(), size());
    const int background = nonlinear();
    for (Eigen::Index row = 0; row < residuals.size(); ++row) {
      const ProfileSample& sample = samples_[static_cast<std::size_t>(row)];
      double value = model.background;
      J_rows(row, background) = 1.0;
      for (std::size_t k = 0; k < model.parts.size(); ++k) {
        const ProfilePart& part = model.parts[k];
        const auto at = static_cast<std::size_t>(part.position);
        const PartResponse r =
            part_response(part, sample.t_px - model.positions_px[at], model.blur_px);
        value += part.amplitude * r.value;
        J_rows(row, part.position) += part.amplitude * r.d_position;
        if (model.blur_is_free) J_rows(row, positions()) += part.amplitude * r.d_blur;
        J_rows(row, background + 1 + static_cast<int>(k)) = r.value;
      }
      if (value >= model.clip) {
        residuals[row] = model.clip - std::min(sample.value, model.clip);
        J_rows.row(row).setZero();
      } else {
        residuals[row] = value - std::min(sample.value, model.clip);
      }
    }
  }

  Eigen::VectorXd sample_weights() const {
    Eigen::VectorXd weights(static_cast<Eigen::Index>(samples_.size()));
    for (Eigen::Index i = 0; i < weights.size(); ++i) {
      weights[i] = samples_[static_cast<std::size_t>(i)].weight;
    }
    return weights;
  }

 private:
  std::span<const ProfileSample> samples_;
  ProfileModel model_;
};

double robust_sigma(const Eigen::VectorXd& residuals) {
  std::vector<double> sizes(static_cast<std::size_t>(residuals.size()));
  for (std::size_t i = 0; i < sizes.size(); ++i) {
    sizes[i] = std::abs(residuals[static_cast<Eigen::Index>(i)]);
  }
  const auto middle = sizes.begin() + static_cast<std::ptrdiff_t>(sizes.size() / 2);
  std::nth_element(sizes.begin(), middle, sizes.end());
  return 1.4826 * *middle;  // MAD of a normal distribution.
}

double huber_limit(const Eigen::VectorXd& scaled_residuals) {
  return kHuber * std::max(robust_sigma(scaled_residuals), 1e-9);
}

Eigen::VectorXd huber_weights(const Eigen::VectorXd& scaled_residuals, double limit) {
  return scaled_residuals.unaryExpr([limit](double r) {
    const double size = std::abs(r);
    return size <= limit ? 1.0 : limit / size;
  });
}

/// What lies beyond the clip level is only known to be brighter. A weak prior keeps it within a few
/// times that level, else position and brightness run off together along the foot of the step.
Eigen::VectorXd prior_weights(const Problem& problem, const ProfileModel& start) {
  Eigen::VectorXd weights = Eigen::VectorXd::Zero(problem.size());
  if (!std::isfinite(start.clip)) return weights;
  const Eigen::Index linear = problem.size() - problem.nonlinear();
  const double mean_weight = problem.sample_weights().mean();
  weights.tail(linear).setConstant(mean_weight * kNoise * kNoise / (start.clip * start.clip));
  return weights;
}

Eigen::MatrixXd normal_matrix(const Eigen::MatrixXd& J_rows, const Eigen::VectorXd& weights,
                              const Eigen::VectorXd& prior) {
  const Eigen::MatrixXd weighted = weights.asDiagonal() * J_rows;
  Eigen::MatrixXd normal = J_rows.transpose().lazyProduct(weighted);  // too small to be blocked
  normal.diagonal() += prior;
  return normal;
}

/// A blur at its limit that wants to go on is held, so that the others find their way without it.
void hold_blur_at_limit(const ProfileModel& model, Eigen::Index blur, Eigen::MatrixXd& normal,
                        Eigen::VectorXd& gradient) {
  if (!model.blur_is_free) return;
  const bool below = model.blur_px <= model.least_blur_px && gradient[blur] > 0.0;
  const bool above = model.blur_px >= model.most_blur_px && gradient[blur] < 0.0;
  if (!below && !above) return;
  normal.row(blur).setZero();
  normal.col(blur).setZero();
  normal(blur, blur) = 1.0;
  gradient[blur] = 0.0;
}

/// Amplitudes and background for fixed positions: a linear problem while nothing is clipped.
ProfileModel with_linear_amplitudes(const Problem& problem, const ProfileModel& model) {
  ProfileModel unit = model;
  for (ProfilePart& part : unit.parts) part.amplitude = 0.0;
  unit.background = 0.0;
  ProfileModel open = unit;
  open.clip = std::numeric_limits<double>::infinity();
  Eigen::VectorXd residuals;
  Eigen::MatrixXd J_rows;
  problem.evaluate(open, residuals, J_rows);
  const Eigen::Index linear = problem.size() - problem.nonlinear();
  const Eigen::MatrixXd J_linear = J_rows.rightCols(linear);
  const Eigen::VectorXd weights = problem.sample_weights();
  Eigen::MatrixXd normal = J_linear.transpose() * weights.asDiagonal() * J_linear;
  normal.diagonal().array() += 1e-9 * normal.trace();
  const Eigen::VectorXd amplitudes =
      solved(normal, -J_linear.transpose() * weights.asDiagonal() * residuals);
  Eigen::VectorXd p = problem.pack(unit);
  p.tail(linear) = amplitudes;
  return problem.unpack(p);
}

}  // namespace

PartResponse part_response(const ProfilePart& part, double t_px, double blur_px) {
  const double t = t_px - part.offset_px;
  switch (part.shape) {
    case ProfilePart::Shape::step:
      return step_response(t, blur_px);
    case ProfilePart::Shape::line: {
      if (std::abs(t) > 0.5 * part.width_px + 0.5 + NormalTable::kReach * blur_px) return {};
      const PartResponse rise = step_response(t + 0.5 * part.width_px, blur_px);
      const PartResponse fall = step_response(t - 0.5 * part.width_px, blur_px);
      return {rise.value - fall.value, rise.d_position - fall.d_position,
              rise.d_blur - fall.d_blur};
    }
    case ProfilePart::Shape::slope:
      return {t, 0.0, 0.0};  // A slope's own position is a convention, not something to fit.
  }
  return {0.0, 0.0, 0.0};
}

double blurred_step(double t_px, double blur_px) {
  return blur_px *
         (normal_integral((t_px + 0.5) / blur_px) - normal_integral((t_px - 0.5) / blur_px));
}

double ProfileModel::value(double t_px) const {
  double sum = background;
  for (const ProfilePart& part : parts) {
    const double at = positions_px[static_cast<std::size_t>(part.position)];
    sum += part.amplitude * part_response(part, t_px - at, blur_px).value;
  }
  return std::min(sum, clip);
}

double ProfileFit::u_px(int position) const {
  return std::sqrt(std::max(covariance(position, position), 0.0));
}

namespace {

/// Of Levenberg and Marquardt, no position moving by more than a pixel.
Eigen::VectorXd damped_step(const Eigen::MatrixXd& normal, const Eigen::VectorXd& gradient,
                            double damping, int positions) {
  Eigen::MatrixXd damped = normal;
  damped.diagonal() += damping * normal.diagonal() +
                       Eigen::VectorXd::Constant(normal.rows(), 1e-12 * normal.trace());
  Eigen::VectorXd step = -solved(damped, gradient);
  const double largest = step.head(positions).cwiseAbs().maxCoeff();
  if (largest > 1.0) step *= 1.0 / largest;
  return step;
}

/// What is known of the positions where the fit has settled.
void state_uncertainty(ProfileFit& fit, const Problem& problem, const Eigen::VectorXd& residuals,
                       const Eigen::MatrixXd& J_rows, const Eigen::VectorXd& prior) {
  const Eigen::VectorXd sample_weights = problem.sample_weights();
  const Eigen::VectorXd scaled = residuals.cwiseProduct(sample_weights.cwiseSqrt());
  const Eigen::VectorXd weights =
      sample_weights.cwiseProduct(huber_weights(scaled, huber_limit(scaled)));
  fit.misfit = scaled.squaredNorm();
  fit.rms = std::sqrt(fit.misfit / sample_weights.sum());
  const double variance =
      residuals.cwiseAbs2().dot(weights) / static_cast<double>(fit.samples - problem.size());
  Eigen::MatrixXd normal = normal_matrix(J_rows, weights, prior);
  normal.diagonal().array() += 1e-12 * normal.trace();
  const Eigen::MatrixXd inverse = SymmetricSystem(normal).inverse();
  fit.covariance = variance * inverse.topLeftCorner(problem.nonlinear(), problem.nonlinear());
  if (!fit.covariance.allFinite()) fit.converged = false;
}

/// A profile's fit on its way.
class Descent {
 public:
  Descent(const Problem& problem, const ProfileModel& start)
      : problem_(problem),
        model_(with_linear_amplitudes(problem, start)),
        sample_weights_(problem.sample_weights()),
        root_weights_(sample_weights_.cwiseSqrt()),
        prior_(prior_weights(problem, start)),
        prior_mean_(problem.pack(model_)) {
    problem_.evaluate(model_, residuals_, J_rows_);
  }

  void linearise(int round) {
    const Eigen::VectorXd scaled = residuals_.cwiseProduct(root_weights_);
    // With a scale that follows for ever, weights and residuals can go round in circles.
    if (round < kFollowScale) limit_ = huber_limit(scaled);
    weights_ = sample_weights_.cwiseProduct(huber_weights(scaled, limit_));
    here_ = problem_.pack(model_);
    const Eigen::VectorXd from_prior = here_ - prior_mean_;
    cost_ = residuals_.cwiseAbs2().dot(weights_) + from_prior.cwiseAbs2().dot(prior_);
    normal_ = normal_matrix(J_rows_, weights_, prior_);
    gradient_ =
        J_rows_.transpose() * weights_.cwiseProduct(residuals_) + prior_.cwiseProduct(from_prior);
    hold_blur_at_limit(model_, problem_.positions(), normal_, gradient_);
  }

  Tried attempt(double damping) {
    const Eigen::VectorXd step = damped_step(normal_, gradient_, damping, problem_.nonlinear());
    if (!step.allFinite()) return Tried::failed;
    const ProfileModel candidate = problem_.unpack(here_ + step);  // the blur stops at its limits
    problem_.evaluate(candidate, candidate_residuals_, candidate_J_rows_);
    const Eigen::VectorXd there = problem_.pack(candidate);
    const Eigen::VectorXd off = there - prior_mean_;
    const double cost =
        candidate_residuals_.cwiseAbs2().dot(weights_) + off.cwiseAbs2().dot(prior_);
    if (!(cost <= cost_)) return Tried::left;
    moved_px_ = (there - here_).head(problem_.nonlinear()).cwiseAbs().maxCoeff();
    model_ = candidate;
    residuals_.swap(candidate_residuals_);
    J_rows_.swap(candidate_J_rows_);
    return moved_px_ < kSettledPx ? Tried::settled : Tried::taken;
  }

  double moved_px() const { return moved_px_; }

  void state(ProfileFit& fit) const {
    fit.model = model_;
    state_uncertainty(fit, problem_, residuals_, J_rows_, prior_);
  }

 private:
  const Problem& problem_;
  ProfileModel model_;
  Eigen::VectorXd sample_weights_, root_weights_, prior_, prior_mean_;
  Eigen::VectorXd residuals_, candidate_residuals_, weights_, here_, gradient_;
  Eigen::MatrixXd J_rows_, candidate_J_rows_, normal_;
  double limit_ = 0.0, cost_ = 0.0, moved_px_ = 1.0;
};

}  // namespace

ProfileFit fit_profile(std::span<const ProfileSample> samples, ProfileModel start) {
  ProfileFit fit;
  fit.samples = static_cast<int>(samples.size());
  fit.model = std::move(start);
  const Problem problem(samples, fit.model);
  if (fit.samples <= problem.size()) return fit;
  Descent descent(problem, fit.model);
  const Descended ended = descend(
      {.least = 1e-9, .rounds = kMostIterations, .attempts = 8},
      [&](int round) { descent.linearise(round); },
      [&](double damping) { return descent.attempt(damping); });
  if (ended == Descended::failed) return fit;
  fit.converged = ended != Descended::unfinished || descent.moved_px() < kNearlySettledPx;
  descent.state(fit);
  return fit;
}

ProfileFit fit_step(std::span<const ProfileSample> samples, double start_px, double blur_px,
                    bool blur_is_free) {
  return fit_profile(samples, {.positions_px = {start_px},
                               .parts = {{.shape = ProfilePart::Shape::step}},
                               .blur_px = blur_px,
                               .blur_is_free = blur_is_free});
}

ProfileFit fit_strip(std::span<const ProfileSample> samples, double first_px, double second_px,
                     double blur_px) {
  return fit_profile(samples, {.positions_px = {first_px, second_px},
                               .parts = {{.shape = ProfilePart::Shape::step, .position = 0},
                                         {.shape = ProfilePart::Shape::step, .position = 1}},
                               .blur_px = blur_px});
}

ProfileFit fit_line_profile(std::span<const ProfileSample> samples, double start_px,
                            double width_px, double blur_px, bool blur_is_free) {
  return fit_profile(samples, {.positions_px = {start_px},
                               .parts = {{.shape = ProfilePart::Shape::line, .width_px = width_px}},
                               .blur_px = blur_px,
                               .blur_is_free = blur_is_free});
}

ProfileFit fit_line_pair(std::span<const ProfileSample> samples, double first_px, double second_px,
                         double width_px, double blur_px) {
  return fit_profile(
      samples, {.positions_px = {first_px, second_px},
                .parts = {{.shape = ProfilePart::Shape::line, .position = 0, .width_px = width_px},
                          {.shape = ProfilePart::Shape::line, .position = 1, .width_px = width_px}},
                .blur_px = blur_px});
}

}  // namespace evenbevel
