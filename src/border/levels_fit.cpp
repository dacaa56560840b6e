#include "levels_fit.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <Eigen/Core>

#include "fit/dense.hpp"
#include "fit/descent.hpp"

namespace evenbevel {
namespace {

constexpr double kLevelsHuber = 2.5;
constexpr int kMostLevelRounds = 40;
constexpr double kLevelsSettledPx = 1e-4;

double normal_cdf(double u) { return 0.5 * std::erfc(-u / std::numbers::sqrt2); }

double normal_density(double u) {
  return std::exp(-0.5 * u * u) / std::sqrt(2.0 * std::numbers::pi);
}

/// Unknowns in one vector: borders, levels, and the ramp's growth if there is one.
class LevelsProblem {
 public:
  LevelsProblem(std::span<const ProfileSample> samples, const LevelsModel& start,
                const LevelsExpected& expected, double noise)
      : samples_(samples), model_(start), expected_(expected), noise_(noise) {}

  int borders() const { return static_cast<int>(model_.border_px.size()); }
  int size() const { return 2 * borders() + 1 + (model_.has_ramp ? 1 : 0); }

  Eigen::VectorXd pack(const LevelsModel& model) const {
    Eigen::VectorXd p(size());
    for (int i = 0; i < borders(); ++i) p[i] = model.border_px[static_cast<std::size_t>(i)];
    for (int i = 0; i <= borders(); ++i) {
      p[borders() + i] = model.level[static_cast<std::size_t>(i)];
    }
    if (model_.has_ramp) p[size() - 1] = model.ramp_per_px;
    return p;
  }

  LevelsModel unpack(const Eigen::VectorXd& p) const {
    LevelsModel model = model_;
    for (int i = 0; i < borders(); ++i) model.border_px[static_cast<std::size_t>(i)] = p[i];
    for (int i = 0; i <= borders(); ++i) {
      model.level[static_cast<std::size_t>(i)] = p[borders() + i];
    }
    if (model_.has_ramp) model.ramp_per_px = p[size() - 1];
    return model;
  }

  /// Model minus sample, and derivatives.
  void evaluate(const Eigen::VectorXd& p, Eigen::VectorXd& residuals, Eigen::MatrixXd& J) const {
    const int n = borders();
    residuals.resize(static_cast<Eigen::Index>(samples_.size()));
    J.setZero(residuals.size(), size());
    for (Eigen::Index row = 0; row < residuals.size(); ++row) {
      const ProfileSample& sample = samples_[static_cast<std::size_t>(row)];
      double value = p[n];
      J(row, n) = 1.0;
      for (int i = 0; i < n; ++i) {
        const double blur = model_.blur_px[static_cast<std::size_t>(i)];
        const double t = sample.t_px - p[i];
        const double share = blurred_step(t, blur);
        const double rise = p[n + i + 1] - p[n + i];
        value += rise * share;
        J(row, i) = -rise * (normal_cdf((t + 0.5) / blur) - normal_cdf((t - 0.5) / blur));
        J(row, n + i) -= share;
        J(row, n + i + 1) += share;
      }
      if (model_.has_ramp) {
        const double t = sample.t_px - p[n - 1], growth = p[size() - 1];
        const double ramp = blurred_ramp(t, model_.blur_px.back());
        value += growth * ramp;
        J(row, n - 1) -= growth * blurred_step(t, model_.blur_px.back());
        J(row, size() - 1) = ramp;
      }
      residuals[row] = value - sample.value;
    }
  }

  /// Adds what is known beforehand: (x - value)^2 / u^2 a piece.
  double add_expected(const Eigen::VectorXd& p, Eigen::MatrixXd* normal,
                      Eigen::VectorXd* gradient) const {
    double cost = 0.0;
    const auto add = [&](const Eigen::VectorXd& row, const Expectation& e) {
      if (e.u <= 0.0) return;
      const double weight = 1.0 / (e.u * e.u);
      const double off = row.dot(p) - e.value;
      cost += weight * off * off;
      if (normal != nullptr) *normal += weight * row * row.transpose();
      if (gradient != nullptr) *gradient += weight * off * row;
    };
    for (std::size_t i = 0; i < expected_.level.size(); ++i) {
      Eigen::VectorXd row = Eigen::VectorXd::Zero(size());
      row[borders() + static_cast<int>(i)] = 1.0;
      add(row, expected_.level[i]);
    }
    if (borders() > 1) {
      Eigen::VectorXd row = Eigen::VectorXd::Zero(size());
      row[borders() - 1] = 1.0;
      row[borders() - 2] = -1.0;
      add(row, expected_.last_gap_px);
    }
    return cost;
  }

  /// 1 / variance of each sample, Huber's weight included.
  Eigen::VectorXd weights(const Eigen::VectorXd& residuals) const {
    Eigen::VectorXd w(residuals.size());
    std::vector<double> sizes(samples_.size());
    for (Eigen::Index i = 0; i < w.size(); ++i) {
      w[i] = samples_[static_cast<std::size_t>(i)].weight;
      sizes[static_cast<std::size_t>(i)] = std::abs(residuals[i]) * std::sqrt(w[i]);
    }
    const auto middle = sizes.begin() + static_cast<std::ptrdiff_t>(sizes.size() / 2);
    std::nth_element(sizes.begin(), middle, sizes.end());
    const double limit = kLevelsHuber * std::max(1.4826 * *middle, noise_);
    for (Eigen::Index i = 0; i < w.size(); ++i) {
      const double size = std::abs(residuals[i]) * std::sqrt(w[i]);
      if (size > limit) w[i] *= limit / size;
    }
    return w / (noise_ * noise_);
  }

 private:
  std::span<const ProfileSample> samples_;
  LevelsModel model_;
  const LevelsExpected& expected_;
  double noise_;
};

}  // namespace

double blurred_ramp(double t_px, double blur_px) {
  const auto H = [](double u) {
    return 0.5 * ((u * u + 1.0) * normal_cdf(u) + u * normal_density(u));
  };
  return blur_px * blur_px * (H((t_px + 0.5) / blur_px) - H((t_px - 0.5) / blur_px));
}

double LevelsModel::value(double t_px) const {
  double sum = level.front();
  for (std::size_t i = 0; i < border_px.size(); ++i) {
    sum += (level[i + 1] - level[i]) * blurred_step(t_px - border_px[i], blur_px[i]);
  }
  if (has_ramp) sum += ramp_per_px * blurred_ramp(t_px - border_px.back(), blur_px.back());
  return sum;
}

namespace {

/// What is known of the borders where the fit has settled.
void state_uncertainty(LevelsFit& fit, const LevelsProblem& problem, const Eigen::VectorXd& p,
                       const Eigen::VectorXd& residuals, const Eigen::MatrixXd& J,
                       double pixel_noise, std::size_t samples) {
  const int n = problem.borders();
  const Eigen::VectorXd w = problem.weights(residuals);
  Eigen::MatrixXd normal = J.transpose() * w.asDiagonal() * J;
  problem.add_expected(p, &normal, nullptr);
  normal.diagonal().array() += 1e-12 * normal.trace();
  const Eigen::MatrixXd covariance = SymmetricSystem(normal).inverse();
  const double chi2 = residuals.cwiseAbs2().dot(w);
  const double stretch =
      std::max(1.0, chi2 / static_cast<double>(static_cast<int>(samples) - problem.size()));
  fit.misfit = chi2 + problem.add_expected(p, nullptr, nullptr);
  fit.rms = pixel_noise * std::sqrt(chi2 / static_cast<double>(samples));
  fit.converged = fit.converged && covariance.allFinite();
  for (int i = 0; i < n; ++i)
    fit.u_px.push_back(std::sqrt(std::max(stretch * covariance(i, i), 0.0)));
  if (n > 1) {
    fit.gap_u_px = std::sqrt(
        std::max(stretch * (covariance(0, 0) + covariance(1, 1) - 2.0 * covariance(0, 1)), 0.0));
  }
}

/// Levels and borders on their way.
class LevelsDescent {
 public:
  LevelsDescent(const LevelsProblem& problem, const LevelsModel& start)
      : problem_(problem), p_(problem.pack(start)) {
    problem_.evaluate(p_, residuals_, J_);
  }

  void linearise() {
    weights_ = problem_.weights(residuals_);
    normal_ = J_.transpose() * weights_.asDiagonal() * J_;
    gradient_ = J_.transpose() * weights_.cwiseProduct(residuals_);
    cost_ = residuals_.cwiseAbs2().dot(weights_) + problem_.add_expected(p_, &normal_, &gradient_);
  }

  Tried attempt(double damping) {
    Eigen::MatrixXd damped = normal_;
    damped.diagonal() *= 1.0 + damping;
    damped.diagonal().array() += 1e-12 * normal_.trace();
    Eigen::VectorXd step = -solved(damped, gradient_);
    if (!step.allFinite()) return Tried::failed;
    const int n = problem_.borders();
    const double largest = step.head(n).cwiseAbs().maxCoeff();
    if (largest > 1.0) step /= largest;
    const Eigen::VectorXd trial = p_ + step;
    problem_.evaluate(trial, trial_residuals_, trial_J_);
    const double cost =
        trial_residuals_.cwiseAbs2().dot(weights_) + problem_.add_expected(trial, nullptr, nullptr);
    if (!(cost <= cost_)) return Tried::left;
    moved_px_ = step.head(n).cwiseAbs().maxCoeff();
    p_ = trial;
    residuals_.swap(trial_residuals_);
    J_.swap(trial_J_);
    return moved_px_ > kLevelsSettledPx ? Tried::taken : Tried::settled;
  }

  double moved_px() const { return moved_px_; }

  void state(LevelsFit& fit, double pixel_noise, std::size_t samples) const {
    fit.model = problem_.unpack(p_);
    state_uncertainty(fit, problem_, p_, residuals_, J_, pixel_noise, samples);
  }

 private:
  const LevelsProblem& problem_;
  Eigen::VectorXd p_, residuals_, trial_residuals_, weights_, gradient_;
  Eigen::MatrixXd J_, trial_J_, normal_;
  double cost_ = 0.0, moved_px_ = 1.0;
};

}  // namespace

LevelsFit fit_levels(std::span<const ProfileSample> samples, LevelsModel start,
                     const LevelsExpected& expected, double pixel_noise) {
  LevelsFit fit;
  fit.model = std::move(start);
  const LevelsProblem problem(samples, fit.model, expected, pixel_noise);
  if (static_cast<int>(samples.size()) <= problem.size()) return fit;
  LevelsDescent descent(problem, fit.model);
  const Descended ended = descend(
      {.least = 1e-9, .rounds = kMostLevelRounds, .attempts = 8}, [&](int) { descent.linearise(); },
      [&](double damping) { return descent.attempt(damping); });
  if (ended == Descended::failed) return fit;
  fit.converged = ended != Descended::unfinished || descent.moved_px() <= 10.0 * kLevelsSettledPx;
  descent.state(fit, pixel_noise, samples.size());
  return fit;
}

}  // namespace evenbevel
