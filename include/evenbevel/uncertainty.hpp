#pragma once

#include <limits>
#include <span>
#include <string>

namespace evenbevel {

/// A value, its standard uncertainty u in the same unit (the variable's suffix), dof behind u.
struct Measured {
  double value = 0.0;
  double u = 0.0;
  double dof = std::numeric_limits<double>::infinity();
};

/// One independent cause of uncertainty, already carried to the result's unit.
struct BudgetLine {
  std::string cause;
  double u = 0.0;
  double dof = std::numeric_limits<double>::infinity();
};

/// A line of a whole result's budget.
struct QuantityBudgetLine {
  std::string quantity;
  BudgetLine line;
};

/// Root sum of squares; effective dof by Welch-Satterthwaite (JCGM 100:2008, G.4.1).
/// Correlated causes must share one line.
Measured combine(double value, std::span<const BudgetLine> budget);

/// Two-sided coverage factor of Student's t (JCGM 100:2008, table G.2). dof is truncated to a
/// whole number first, as G.4.1 asks. @pre 0 < probability < 1, dof >= 1.
double coverage_factor(double dof, double probability = 0.95);

/// Expanded uncertainty for 95 % coverage, in the unit of u.
double U95(const Measured& measured);

}  // namespace evenbevel
