#pragma once

#include <limits>
#include <span>
#include <string>
#include <vector>

namespace evenbevel {

/// One independent cause of uncertainty, already carried to the result's unit.
struct BudgetLine {
  std::string cause;
  double u = 0.0;
  double dof = std::numeric_limits<double>::infinity();
  /// Places along the blade that are nearer to each other than this share the error, so that it
  /// averages out in a mean over more. Infinite: all of them share it.
  double shared_mm = std::numeric_limits<double>::infinity();
};

/// A value, its standard uncertainty u in the same unit (the variable's suffix), dof behind u.
struct Measured {
  double value = 0.0;
  double u = 0.0;
  double dof = std::numeric_limits<double>::infinity();
  std::vector<BudgetLine> budget = {};  ///< What u is made of: its lines add up to it.
};

/// Root sum of squares; effective dof by Welch-Satterthwaite (JCGM 100:2008, G.4.1).
/// Correlated causes must share one line.
Measured combine(double value, std::vector<BudgetLine> budget);

/// The same with one more cause.
Measured with_line(const Measured& measured, BudgetLine line);

/// So many times the same: what moves the one moves the other.
Measured times(double factor, const Measured& measured);

/// The difference of two that share no error: line by line, of the same cause.
/// @pre Both have the same causes, in the same order.
Measured apart(const Measured& left, const Measured& right);

/// The mean of values at places along the blade: errors that all of them share stay whole, those
/// that only near places share average out over the length.
/// Where none of them has a budget the mean has none, and the mean of their u.
/// @pre Not empty.
Measured mean_along(std::span<const Measured> values, double length_mm);

/// The same of values that share all their errors.
Measured shared_mean(std::span<const Measured> values);

/// Two-sided coverage factor of Student's t (JCGM 100:2008, table G.2). dof is truncated to a
/// whole number first, as G.4.1 asks. @pre 0 < probability < 1, dof >= 1.
double coverage_factor(double dof, double probability = 0.95);

/// Expanded uncertainty for 95 % coverage, in the unit of u.
double U95(const Measured& measured);

}  // namespace evenbevel
