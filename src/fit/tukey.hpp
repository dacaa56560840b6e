#pragma once

#include <span>
#include <vector>

namespace evenbevel::fit {

/// Tukey's biweight: c = 4.685 keeps 95 % efficiency for normal readings (P. J. Huber, Robust
/// Statistics, 1981).
inline constexpr double kTukey = 4.685;

/// Weight of a residual of z standard deviations: 1 at zero, 0 from kTukey on.
double tukey_weight(double z);

/// What an M-estimate's covariance is, over that of least squares with scatter 1: for `parameters`
/// parameters and residuals of z standard deviations. Only residuals with weight count.
double tukey_variance(std::span<const double> z, int parameters);

/// Robust standard deviation of residuals about zero after fitting `parameters` parameters.
double residual_sigma(std::span<const double> residuals, int parameters);

/// Indices of at most `most` of `count` points, evenly spread.
std::vector<int> spread_indices(int count, int most);

/// Small generator of our own, the same on every machine, for picking point subsets.
class SubsetPicker {
 public:
  explicit SubsetPicker(int count) : count_(static_cast<unsigned>(count)) {}
  int next();

 private:
  unsigned count_;
  unsigned long long state_ = 1;
};

}  // namespace evenbevel::fit
