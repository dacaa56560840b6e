#include "variance.hpp"

#include <algorithm>
#include <cmath>

#include <Eigen/Dense>
#include <boost/math/distributions/fisher_f.hpp>

#include "effects.hpp"
#include "interval.hpp"

namespace evenbevel {

constexpr double kPairLimit = 1.959963984540054 * 1.4142135623730951;  // normal, two of them

double StudySpreads::repeatability_limit() const { return kPairLimit * repeatability.sigma; }
double StudySpreads::reproducibility_limit() const { return kPairLimit * set_up.sigma; }

namespace studies {
namespace {

const MeanSquare* find(const Effects& effects, Effect effect) {
  const auto found = std::find_if(effects.squares.begin(), effects.squares.end(),
                                  [effect](const MeanSquare& s) { return s.effect == effect; });
  return found == effects.squares.end() ? nullptr : &*found;
}

std::vector<VarianceLine> lines_of(const Effects& effects) {
  const MeanSquare& rest = effects.squares.back();
  const MeanSquare* interaction = find(effects, Effect::interaction);
  std::vector<VarianceLine> lines;
  for (const MeanSquare& square : effects.squares) {
    VarianceLine line{
        .source = name(square.effect), .dof = square.dof, .sum_of_squares = square.sum_of_squares};
    const bool main = square.effect == Effect::part || square.effect == Effect::person;
    const MeanSquare& against = main && interaction != nullptr ? *interaction : rest;
    if (&square != &rest && square.dof > 0.0 && against.value() > 0.0) {
      line.F = square.value() / against.value();
      line.p = boost::math::cdf(
          boost::math::complement(boost::math::fisher_f(square.dof, against.dof), *line.F));
    }
    lines.push_back(line);
  }
  return lines;
}

/// Variances as sums of mean squares: a row an effect, a column a mean square.
Eigen::MatrixXd variances_from_squares(const Effects& effects) {
  const auto n = static_cast<Eigen::Index>(effects.squares.size());
  Eigen::MatrixXd expected = Eigen::MatrixXd::Zero(n, n);
  for (Eigen::Index row = 0; row < n; ++row) {
    const MeanSquare& square = effects.squares[static_cast<std::size_t>(row)];
    for (Eigen::Index column = 0; column < n; ++column) {
      switch (effects.squares[static_cast<std::size_t>(column)].effect) {
        case Effect::part:
          expected(row, column) = square.of_part;
          break;
        case Effect::person:
          expected(row, column) = square.of_person;
          break;
        case Effect::interaction:
          expected(row, column) = square.of_interaction;
          break;
        case Effect::repeatability:
          expected(row, column) = 1.0;
          break;
      }
    }
  }
  return expected.inverse();
}

/// Turns sums of the effects' variances into spreads with intervals.
class Spreads {
 public:
  explicit Spreads(const Effects& effects)
      : effects_(effects), from_squares_(variances_from_squares(effects)) {}

  std::optional<Spread> of(Effect effect) const {
    if (find(effects_, effect) == nullptr) return std::nullopt;
    const double variance = weights(effect).dot(mean_squares());
    Spread spread{.sigma = std::sqrt(std::max(variance, 0.0)),
                  .interval95 = interval(weights(effect)),
                  .set_to_zero = variance < 0.0};
    return spread;
  }

  /// Interval of the sum of several effects' variances; what came out negative is left out.
  Interval of_sum(std::initializer_list<Effect> sum) const {
    Eigen::VectorXd total = Eigen::VectorXd::Zero(from_squares_.cols());
    for (const Effect effect : sum) {
      if (find(effects_, effect) == nullptr) continue;
      if (weights(effect).dot(mean_squares()) >= 0.0) total += weights(effect);
    }
    return interval(total);
  }

 private:
  Eigen::VectorXd weights(Effect effect) const {
    const auto row = find(effects_, effect) - effects_.squares.data();
    return from_squares_.row(row).transpose();
  }
  Eigen::VectorXd mean_squares() const {
    Eigen::VectorXd values(from_squares_.cols());
    for (Eigen::Index i = 0; i < values.size(); ++i) {
      values(i) = effects_.squares[static_cast<std::size_t>(i)].value();
    }
    return values;
  }
  /// Of a standard deviation.
  Interval interval(const Eigen::VectorXd& weights) const {
    constexpr double kRoundOff = 1e-12;  // what should cancel in the inverse
    std::vector<WeightedSquare> sum;
    for (Eigen::Index i = 0; i < weights.size(); ++i) {
      const MeanSquare& square = effects_.squares[static_cast<std::size_t>(i)];
      if (std::abs(weights(i)) < kRoundOff * weights.cwiseAbs().maxCoeff()) continue;
      sum.push_back({.weight = weights(i), .mean_square = square.value(), .dof = square.dof});
    }
    const Interval variance = variance_interval95(sum);
    return {.low = std::sqrt(variance.low), .high = std::sqrt(variance.high)};
  }

  const Effects& effects_;
  Eigen::MatrixXd from_squares_;
};

VarianceLine pooled_line(const Effects& effects) {
  const MeanSquare& rest = effects.squares.back();
  return {.source = "repeatability, interaction pooled",
          .dof = rest.dof,
          .sum_of_squares = rest.sum_of_squares};
}

StudySpreads spreads_of(const Effects& effects, const StudySettings& settings) {
  const Spreads spreads(effects);
  StudySpreads out;
  out.repeatability = *spreads.of(Effect::repeatability);
  out.person = spreads.of(Effect::person);
  out.interaction = spreads.of(Effect::interaction);
  out.part = spreads.of(Effect::part);
  add_up(out, settings);
  if (out.person) {
    out.reproducibility.interval95 = spreads.of_sum({Effect::person, Effect::interaction});
  }
  out.set_up.interval95 =
      spreads.of_sum({Effect::repeatability, Effect::person, Effect::interaction});
  out.total.interval95 =
      spreads.of_sum({Effect::repeatability, Effect::person, Effect::interaction, Effect::part});
  return out;
}

}  // namespace

void add_up(StudySpreads& spreads, const StudySettings& settings) {
  const auto variance = [](const std::optional<Spread>& spread) {
    return spread ? spread->sigma * spread->sigma : 0.0;
  };
  spreads.reproducibility.sigma =
      std::sqrt(variance(spreads.person) + variance(spreads.interaction));
  spreads.reproducibility.set_to_zero =
      spreads.person && spreads.person->set_to_zero && spreads.reproducibility.sigma == 0.0;
  spreads.set_up.sigma = std::hypot(spreads.repeatability.sigma, spreads.reproducibility.sigma);
  spreads.total.sigma = std::sqrt(variance(spreads.set_up) + variance(spreads.part));
  if (spreads.part && spreads.set_up.sigma > 0.0) {
    constexpr double kMost = 1e6;
    const double categories = std::sqrt(2.0) * spreads.part->sigma / spreads.set_up.sigma;
    spreads.distinct_categories = static_cast<int>(std::min(categories, kMost));
  }
  if (settings.tolerance_width) {
    spreads.tolerance_share = 6.0 * spreads.set_up.sigma / *settings.tolerance_width;
  }
}

VarianceAnalysis analyse_variance(const Layout& layout, const StudySettings& settings) {
  const bool interaction = interaction_can_be_told(layout);
  Effects effects = effects_of(layout, interaction);
  VarianceAnalysis analysis{.lines = lines_of(effects),
                            .interaction_pooled = false,
                            .pooled = std::nullopt,
                            .total_dof = effects.total_dof,
                            .total_sum_of_squares = effects.total_sum_of_squares,
                            .spreads = {}};
  if (interaction) {
    const std::optional<double>& p = analysis.lines[analysis.lines.size() - 2].p;
    analysis.interaction_pooled = !p || *p > settings.pool_above_p;
  }
  if (analysis.interaction_pooled) {
    effects = effects_of(layout, false);
    analysis.pooled = pooled_line(effects);
  }
  analysis.spreads = spreads_of(effects, settings);
  return analysis;
}

}  // namespace studies
}  // namespace evenbevel
