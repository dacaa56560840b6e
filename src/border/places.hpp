#pragma once

#include <vector>

#include <opencv2/core/mat.hpp>

namespace evenbevel {

/// How a curve may bend from one station to the next.
struct BendPrior {
  int steepest = 5;    ///< Cells a station, either way.
  double up = 0.05;    ///< Probability that the slope grows by one cell from station to station,
  double down = 0.05;  ///< and that it falls by one.

  double of(int change) const { return change > 0 ? up : change < 0 ? down : 1.0 - up - down; }
};

/// Where the curve runs at one station, over all curves that the gains allow.
struct Place {
  double cell = 0.0;    ///< Mean.
  double spread = 0.0;  ///< Standard deviation, cells.
};

/// Mean and spread of a curve's place at each station: sums over all curves (forward-backward
/// algorithm over place and slope), each as likely as the exponential of its gains' sum times its
/// bends' probabilities.
/// @param gain  CV_32FC1, a row a cell, a column a station: log likelihood.
///
/// Source: L. R. Rabiner, Proceedings of the IEEE 77 (1989), 257-286.
std::vector<Place> places_along(const cv::Mat& gain, const BendPrior& prior);

/// A smooth curve through scattered readings: at each a local quadratic, `reach` a side.
std::vector<double> smoothed(const std::vector<double>& at, const std::vector<double>& values,
                             const std::vector<double>& weights, double reach);

}  // namespace evenbevel
