#pragma once

#include <span>

#include "evenbevel/study.hpp"

namespace evenbevel::studies {

/// One mean square of a sum or difference of several.
struct WeightedSquare {
  double weight = 0.0;  ///< Signed.
  double mean_square = 0.0, dof = 0.0;
};

/// 95 % interval of the sum's expectation, mean squares being independent and chi-square
/// distributed; not below zero. Exact for one mean square. F. A. Graybill, C.-M. Wang (1980) for
/// sums, N. Ting et al. (1990) with differences; formulas as in R. K. Burdick, F. A. Graybill,
/// Confidence Intervals on Variance Components (1992), section 3.3, from memory; a test holds them
/// against simulated studies.
Interval variance_interval95(std::span<const WeightedSquare> sum);

}  // namespace evenbevel::studies
