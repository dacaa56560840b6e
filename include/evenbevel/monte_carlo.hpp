#pragma once

#include <cstdint>
#include <functional>
#include <limits>
#include <span>
#include <vector>

#include <Eigen/Core>

#include "evenbevel/uncertainty.hpp"

namespace evenbevel {

// Distributions through a model: the law of propagation (JCGM 100:2008) and, as its check, Monte
// Carlo (JCGM 101:2008). No units of their own.

/// What is known of one input of a model.
class Distribution {
 public:
  static Distribution normal(double value, double u);
  /// From dof + 1 readings or the like: Student's t, scaled by u (JCGM 101, 6.4.9). `u` is the
  /// law's standard uncertainty; the spread drawn is wider by sqrt(dof / (dof - 2)).
  static Distribution student(double value, double u, double dof);
  static Distribution rectangular(double low, double high);
  static Distribution triangular(double low, double high);
  static Distribution arcsine(double low, double high);
  /// Rectangular, with limits known only to +-inexactness (JCGM 101, 6.4.3).
  static Distribution inexact_limits(double low, double high, double inexactness);

  /// The same with degrees of freedom behind u, for the law alone (JCGM 100, G.4.2).
  Distribution with_dof(double dof) const;

  double value() const { return value_; }
  double u() const { return u_; }  ///< Standard uncertainty that goes into the law.
  double dof() const { return dof_; }
  bool is_normal() const { return shape_ == Shape::normal; }

  /// One draw. `bits` gives 64 random bits a call; two of them are used.
  double draw(const std::function<std::uint64_t()>& bits) const;

 private:
  enum class Shape { normal, student, rectangular, triangular, arcsine, inexact_limits };
  Distribution(Shape shape, double value, double u, double half_width, double inexactness,
               double dof);

  Shape shape_;
  double value_, u_, half_width_, inexactness_, dof_;
};

/// Several results at once; a result that is not finite counts as not measured.
using Model = std::function<Eigen::VectorXd(const Eigen::VectorXd& inputs)>;

struct ModelInputs {
  std::vector<Distribution> distributions;
  /// Correlation coefficients, inputs x inputs; empty: all independent. Only normal inputs may be
  /// correlated.
  Eigen::MatrixXd correlation = {};
};

// --- Law of propagation -------------------------------------------------------------------------

enum class LawOrder {
  first,   ///< JCGM 100, 5.1.2 and 5.2.2.
  second,  ///< With the next terms of the series (5.1.2, note), for independent inputs.
};

struct LawResult {
  Measured measured;              ///< dof by Welch-Satterthwaite, G.4.1.
  Eigen::VectorXd sensitivities;  ///< d result / d input.
};

/// One result each of the model's, with derivatives by central differences in steps far below u.
std::vector<LawResult> law_of_propagation(const Model& model, const ModelInputs& inputs,
                                          LawOrder order = LawOrder::first);

// --- Monte Carlo --------------------------------------------------------------------------------

struct MonteCarloSettings {
  int trials = 100000;  ///< At least 40.
  std::uint64_t seed = 1;
  double probability = 0.95;
  int digits = 1;  ///< Significant ones of u that count when the law is compared with the trials.
  std::function<void(int)> told = {};  ///< How many trials are done, after each; may be empty.
};

struct Interval {
  double low = 0.0, high = 0.0;
};

struct MonteCarloResult {
  double mean = 0.0;
  double u = 0.0;  ///< Standard deviation of the trials.
  Interval symmetric, shortest;
  Interval symmetric_u;  ///< Standard uncertainty of the ends, from ten parts of the trials.
  int trials = 0;        ///< In which this result was measured.
};

/// The same seed gives the same numbers everywhere. One result each of the model's.
///
/// @throws Error  A result was measured in fewer than 40 trials; fewer trials asked for.
///
/// Source: JCGM 101:2008, clause 7 (7.7.2 for the intervals).
std::vector<MonteCarloResult> monte_carlo(const Model& model, const ModelInputs& inputs,
                                          const MonteCarloSettings& settings = {});

/// The trials' values: one list each of the model's results, of those that were measured.
std::vector<std::vector<double>> monte_carlo_values(const Model& model, const ModelInputs& inputs,
                                                    const MonteCarloSettings& settings = {});

/// From the trials' values.
MonteCarloResult monte_carlo_result(std::span<const double> values, double probability = 0.95);

/// Half of the last of `digits` significant digits of u (JCGM 101, 7.9.2).
double numerical_tolerance(double u, int digits);

enum class LawCheck {
  agrees,
  differs,
  unresolved,  ///< Too few trials to tell.
};

struct LawComparison {
  double tolerance = 0.0;        ///< Numerical tolerance.
  double low = 0.0, high = 0.0;  ///< How far the intervals' ends lie apart.
  LawCheck check = LawCheck::unresolved;
};

/// Whether the law's interval is that of Monte Carlo's, to the numerical tolerance: both ends
/// agree, or one of them does not, by more than twice what chance leaves open (JCGM 101, 8.1).
LawComparison compare(const Measured& law, const MonteCarloResult& monte_carlo, int digits = 1,
                      double probability = 0.95);

}  // namespace evenbevel
