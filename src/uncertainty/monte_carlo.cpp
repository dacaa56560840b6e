#include "evenbevel/monte_carlo.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <numbers>
#include <random>
#include <string>

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>

#include "evenbevel/error.hpp"

namespace evenbevel {
namespace {

constexpr int kLeastTrials = 40;

/// In [0, 1), from raw bits: standard distributions differ between libraries.
double unit(const std::function<std::uint64_t()>& bits) {
  return static_cast<double>(bits() >> 11) * 0x1.0p-53;
}

/// Box and Muller's transform.
double standard_normal(const std::function<std::uint64_t()>& bits) {
  const double radius = std::sqrt(-2.0 * std::log(1.0 - unit(bits)));
  return radius * std::cos(2.0 * std::numbers::pi * unit(bits));
}

/// R. W. Bailey, Mathematics of Computation 62 (1994), 779-781: Box and Muller's for Student's t.
double standard_student(double dof, const std::function<std::uint64_t()>& bits) {
  const double radius = std::sqrt(dof * (std::pow(1.0 - unit(bits), -2.0 / dof) - 1.0));
  return radius * std::cos(2.0 * std::numbers::pi * unit(bits));
}

/// A factor F with F F^T the correlation matrix, which may be singular.
Eigen::MatrixXd factor(const Eigen::MatrixXd& correlation) {
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> eigen(correlation);
  assert(eigen.eigenvalues().minCoeff() > -1e-9);
  return eigen.eigenvectors() * eigen.eigenvalues().cwiseMax(0.0).cwiseSqrt().asDiagonal();
}

class Draws {
 public:
  Draws(const ModelInputs& inputs, std::uint64_t seed)
      : inputs_(inputs), generator_(seed), bits_([this] { return generator_(); }) {
    if (inputs.correlation.size() > 0) factor_ = factor(inputs.correlation);
  }
  Draws(const Draws&) = delete;
  Draws& operator=(const Draws&) = delete;

  Eigen::VectorXd next() {
    const auto count = static_cast<Eigen::Index>(inputs_.distributions.size());
    Eigen::VectorXd standard = Eigen::VectorXd::Zero(count);
    if (factor_.size() > 0) {
      for (double& z : standard) z = standard_normal(bits_);
      standard = factor_ * standard;
    }
    Eigen::VectorXd values(count);
    for (Eigen::Index i = 0; i < count; ++i) {
      const Distribution& d = inputs_.distributions[static_cast<std::size_t>(i)];
      values(i) =
          factor_.size() > 0 && d.is_normal() ? d.value() + d.u() * standard(i) : d.draw(bits_);
    }
    return values;
  }

 private:
  const ModelInputs& inputs_;
  std::mt19937_64 generator_;
  std::function<std::uint64_t()> bits_;
  Eigen::MatrixXd factor_;
};

/// How many of the trials an interval holds, and the first of the symmetric one (JCGM 101, 7.7.2).
struct Ranks {
  std::size_t held, first;

  Ranks(std::size_t trials, double probability)
      : held(static_cast<std::size_t>(std::lround(probability * static_cast<double>(trials)))),
        first((trials - held) / 2) {}
};

Interval symmetric_interval(const std::vector<double>& sorted, double probability) {
  const Ranks ranks(sorted.size(), probability);
  return {sorted[ranks.first], sorted[std::min(ranks.first + ranks.held, sorted.size() - 1)]};
}

Interval shortest_interval(const std::vector<double>& sorted, double probability) {
  const Ranks ranks(sorted.size(), probability);
  std::size_t best = 0;
  const auto length = [&](std::size_t first) { return sorted[first + ranks.held] - sorted[first]; };
  for (std::size_t first = 1; first + ranks.held < sorted.size(); ++first) {
    if (length(first) < length(best)) best = first;
  }
  return {sorted[best], sorted[best + ranks.held]};
}

/// Standard uncertainty of the ends over all trials, from their scatter between parts.
Interval end_u(std::span<const double> values, double probability) {
  constexpr std::size_t kParts = 10;
  std::array<double, kParts> low{}, high{};
  const std::size_t size = values.size() / kParts;
  for (std::size_t part = 0; part < kParts; ++part) {
    const std::span<const double> of_part = values.subspan(part * size, size);
    std::vector<double> sorted(of_part.begin(), of_part.end());
    std::sort(sorted.begin(), sorted.end());
    const Interval ends = symmetric_interval(sorted, probability);
    low[part] = ends.low;
    high[part] = ends.high;
  }
  const auto u_of_mean = [](const std::array<double, kParts>& ends) {
    const Eigen::Map<const Eigen::Array<double, kParts, 1>> x(ends.data());
    return std::sqrt((x - x.mean()).square().sum() / (kParts - 1.0) / kParts);
  };
  return {u_of_mean(low), u_of_mean(high)};
}

/// Values of the model with one or two inputs moved, each by a part of its u.
class Moved {
 public:
  Moved(const Model& model, const ModelInputs& inputs) : model_(model), inputs_(inputs) {
    estimate_.resize(static_cast<Eigen::Index>(inputs.distributions.size()));
    for (Eigen::Index i = 0; i < estimate_.size(); ++i) estimate_(i) = of(i).value();
  }

  Eigen::VectorXd at(Eigen::Index i, double steps_i, Eigen::Index j = 0, double steps_j = 0) const {
    Eigen::VectorXd inputs = estimate_;
    inputs(i) += steps_i * of(i).u();
    inputs(j) += steps_j * of(j).u();
    return model_(inputs);
  }
  Eigen::VectorXd estimate() const { return model_(estimate_); }
  const Distribution& of(Eigen::Index i) const {
    return inputs_.distributions[static_cast<std::size_t>(i)];
  }
  Eigen::Index count() const { return estimate_.size(); }

 private:
  const Model& model_;
  const ModelInputs& inputs_;
  Eigen::VectorXd estimate_;
};

/// u_i df/dx_i, results x inputs.
Eigen::MatrixXd contributions(const Moved& moved, Eigen::Index results) {
  constexpr double kStep = 1e-3;
  Eigen::MatrixXd all(results, moved.count());
  for (Eigen::Index i = 0; i < moved.count(); ++i) {
    all.col(i) = (moved.at(i, kStep) - moved.at(i, -kStep)) / (2.0 * kStep);
  }
  return all;
}

/// Sum over i, j of (f_ij^2 / 2 + f_i f_ijj) u_i^2 u_j^2 (JCGM 100, 5.1.2, note).
Eigen::VectorXd second_order_variance(const Moved& moved, const Eigen::MatrixXd& first) {
  constexpr double kStep = 0.05;
  const Eigen::VectorXd f = moved.estimate();
  Eigen::VectorXd sum = Eigen::VectorXd::Zero(f.size());
  for (Eigen::Index i = 0; i < moved.count(); ++i) {
    for (Eigen::Index j = 0; j < moved.count(); ++j) {
      Eigen::VectorXd f_ij, f_ijj;
      if (i == j) {
        const Eigen::VectorXd up = moved.at(i, kStep), down = moved.at(i, -kStep);
        f_ij = (up - 2.0 * f + down) / (kStep * kStep);
        f_ijj = (moved.at(i, 2 * kStep) - 2.0 * up + 2.0 * down - moved.at(i, -2 * kStep)) /
                (2.0 * kStep * kStep * kStep);
      } else {
        const auto corner = [&](double a, double b) {
          return moved.at(i, a * kStep, j, b * kStep);
        };
        const Eigen::VectorXd pp = corner(1, 1), pm = corner(1, -1);
        const Eigen::VectorXd mp = corner(-1, 1), mm = corner(-1, -1);
        f_ij = (pp - pm - mp + mm) / (4.0 * kStep * kStep);
        const Eigen::VectorXd curved_up = pp - 2.0 * corner(1, 0) + pm;
        const Eigen::VectorXd curved_down = mp - 2.0 * corner(-1, 0) + mm;
        f_ijj = (curved_up - curved_down) / (2.0 * kStep * kStep * kStep);
      }
      sum.array() += 0.5 * f_ij.array().square() + first.col(i).array() * f_ijj.array();
    }
  }
  return sum;
}

}  // namespace

Distribution::Distribution(Shape shape, double value, double u, double half_width,
                           double inexactness, double dof)
    : shape_(shape),
      value_(value),
      u_(u),
      half_width_(half_width),
      inexactness_(inexactness),
      dof_(dof) {
  assert(u >= 0.0 && dof > 0.0);
}

Distribution Distribution::normal(double value, double u) {
  return {Shape::normal, value, u, 0.0, 0.0, std::numeric_limits<double>::infinity()};
}

Distribution Distribution::student(double value, double u, double dof) {
  return {Shape::student, value, u, 0.0, 0.0, dof};
}

Distribution Distribution::rectangular(double low, double high) {
  const double half = 0.5 * (high - low);
  return {Shape::rectangular,
          0.5 * (low + high),
          half / std::sqrt(3.0),
          half,
          0.0,
          std::numeric_limits<double>::infinity()};
}

Distribution Distribution::triangular(double low, double high) {
  const double half = 0.5 * (high - low);
  return {Shape::triangular,
          0.5 * (low + high),
          half / std::sqrt(6.0),
          half,
          0.0,
          std::numeric_limits<double>::infinity()};
}

Distribution Distribution::arcsine(double low, double high) {
  const double half = 0.5 * (high - low);
  return {Shape::arcsine,
          0.5 * (low + high),
          half / std::sqrt(2.0),
          half,
          0.0,
          std::numeric_limits<double>::infinity()};
}

Distribution Distribution::inexact_limits(double low, double high, double inexactness) {
  const double half = 0.5 * (high - low);
  return {Shape::inexact_limits,
          0.5 * (low + high),
          std::sqrt(half * half / 3.0 + inexactness * inexactness / 9.0),
          half,
          inexactness,
          std::numeric_limits<double>::infinity()};
}

Distribution Distribution::with_dof(double dof) const {
  Distribution with = *this;
  with.dof_ = dof;
  return with;
}

double Distribution::draw(const std::function<std::uint64_t()>& bits) const {
  switch (shape_) {
    case Shape::normal:
      return value_ + u_ * standard_normal(bits);
    case Shape::student:
      return value_ + u_ * standard_student(dof_, bits);
    case Shape::rectangular:
      return value_ + half_width_ * (2.0 * unit(bits) - 1.0);
    case Shape::triangular: {
      const double first = unit(bits);
      return value_ + half_width_ * (first + unit(bits) - 1.0);
    }
    case Shape::arcsine:
      return value_ + half_width_ * std::sin(2.0 * std::numbers::pi * unit(bits));
    case Shape::inexact_limits: {
      const double half = half_width_ + inexactness_ * (2.0 * unit(bits) - 1.0);
      return value_ + half * (2.0 * unit(bits) - 1.0);
    }
  }
  return value_;
}

std::vector<LawResult> law_of_propagation(const Model& model, const ModelInputs& inputs,
                                          LawOrder order) {
  assert(order == LawOrder::first || inputs.correlation.size() == 0);
  const Moved moved(model, inputs);
  const Eigen::VectorXd estimate = moved.estimate();
  const Eigen::MatrixXd parts = contributions(moved, estimate.size());
  Eigen::VectorXd variance = parts.rowwise().squaredNorm();
  if (inputs.correlation.size() > 0) {
    variance = (parts * inputs.correlation * parts.transpose()).diagonal();
  }
  if (order == LawOrder::second) variance += second_order_variance(moved, parts);
  std::vector<LawResult> results;
  for (Eigen::Index k = 0; k < estimate.size(); ++k) {
    std::vector<BudgetLine> budget;
    LawResult result{.measured = {}, .sensitivities = parts.row(k)};
    for (Eigen::Index i = 0; i < moved.count(); ++i) {
      const Distribution& input = moved.of(i);
      budget.push_back({"", std::abs(parts(k, i)), input.dof()});
      result.sensitivities(i) = input.u() > 0.0 ? parts(k, i) / input.u() : 0.0;
    }
    result.measured = combine(estimate(k), budget);
    result.measured.u = std::sqrt(std::max(variance(k), 0.0));
    results.push_back(result);
  }
  return results;
}

MonteCarloResult monte_carlo_result(std::span<const double> values, double probability) {
  if (values.size() < kLeastTrials) {
    throw Error("a result came out in only " + std::to_string(values.size()) +
                    " Monte Carlo trials, " + std::to_string(kLeastTrials) + " are needed",
                "ask for more trials");
  }
  std::vector<double> sorted(values.begin(), values.end());
  std::sort(sorted.begin(), sorted.end());
  const Eigen::Map<const Eigen::ArrayXd> y(sorted.data(), static_cast<Eigen::Index>(sorted.size()));
  const double mean = y.mean();
  return {.mean = mean,
          .u = std::sqrt((y - mean).square().sum() / static_cast<double>(y.size() - 1)),
          .symmetric = symmetric_interval(sorted, probability),
          .shortest = shortest_interval(sorted, probability),
          .symmetric_u = end_u(values, probability),
          .trials = static_cast<int>(sorted.size())};
}

std::vector<std::vector<double>> monte_carlo_values(const Model& model, const ModelInputs& inputs,
                                                    const MonteCarloSettings& settings) {
  Draws draws(inputs, settings.seed);
  std::vector<std::vector<double>> values;
  for (int trial = 0; trial < settings.trials; ++trial) {
    const Eigen::VectorXd y = model(draws.next());
    values.resize(std::max(values.size(), static_cast<std::size_t>(y.size())));
    for (Eigen::Index k = 0; k < y.size(); ++k) {
      if (std::isfinite(y(k))) values[static_cast<std::size_t>(k)].push_back(y(k));
    }
    if (settings.told) settings.told(trial + 1);
  }
  return values;
}

std::vector<MonteCarloResult> monte_carlo(const Model& model, const ModelInputs& inputs,
                                          const MonteCarloSettings& settings) {
  std::vector<MonteCarloResult> results;
  for (const std::vector<double>& of_one : monte_carlo_values(model, inputs, settings)) {
    results.push_back(monte_carlo_result(of_one, settings.probability));
  }
  return results;
}

double numerical_tolerance(double u, int digits) {
  assert(u > 0.0 && digits >= 1);
  const double leading = std::floor(std::log10(u));
  // 0.0996 to two digits is 0.10: rounding may add a place.
  const double rounded = std::round(u / std::pow(10.0, leading - digits + 1));
  const double carried = rounded >= std::pow(10.0, digits) ? 1.0 : 0.0;
  return 0.5 * std::pow(10.0, leading + carried - digits + 1);
}

LawComparison compare(const Measured& law, const MonteCarloResult& monte_carlo, int digits,
                      double probability) {
  const double U = coverage_factor(law.dof, probability) * law.u;
  LawComparison out;
  out.tolerance = numerical_tolerance(monte_carlo.u, digits);
  out.low = std::abs(law.value - U - monte_carlo.symmetric.low);
  out.high = std::abs(law.value + U - monte_carlo.symmetric.high);
  const double chance_low = 2.0 * monte_carlo.symmetric_u.low;
  const double chance_high = 2.0 * monte_carlo.symmetric_u.high;
  if (out.low - chance_low > out.tolerance || out.high - chance_high > out.tolerance) {
    out.check = LawCheck::differs;
  } else if (out.low + chance_low <= out.tolerance && out.high + chance_high <= out.tolerance) {
    out.check = LawCheck::agrees;
  }
  return out;
}

}  // namespace evenbevel
