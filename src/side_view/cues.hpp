#pragma once

#include <algorithm>
#include <vector>

#include <opencv2/core/mat.hpp>

#include "border/border_gain.hpp"
#include "face_image.hpp"

namespace evenbevel::side {

/// What tells one ground surface from the next, pixel by pixel.
struct Cues {
  cv::Mat code;          ///< CV_32FC1, brightness as encoded.
  cv::Mat x2, z2;        ///< CV_32FC1, squared differences along x and along z.
  float noise2 = 0;      ///< What the sensor alone gives either.
  double blur_px = 1.0;  ///< Of the borders.
};
Cues cues_of(const FaceImage& image);

/// A line of cells across a border, each the mean over a run of pixels along it.
struct CellLine {
  std::vector<double> code;   ///< Brightness.
  std::vector<double> grain;  ///< log of (difference along x)^2 over (along z)^2: negative where
                              ///< scratches run along x, positive where they run across.
};

/// Gathers a line of cells from the runs of pixels along a border.
struct CellSums {
  explicit CellSums(int cells);

  std::vector<double> code, along, across;  ///< Brightness, squared differences along x and z.
  int runs = 0;

  /// @param noise2  Of one squared difference.
  CellLine mean(double noise2) const;
  /// @param blur  Of the picture's borders, cells.
  BorderCells border(double blur) const;
};

/// Sums from the first cell on, so that any window's moments are at hand.
class Moments {
 public:
  explicit Moments(const std::vector<double>& values);

  struct Window {
    double n = 0.0, sum = 0.0, sum_t = 0.0, sum_squares = 0.0, t = 0.0, tt = 0.0;
    Window operator+(const Window& other) const;
    double mean() const { return n > 0.0 ? sum / n : 0.0; }
    /// Squared residuals about the mean.
    double scatter() const;
  };
  /// Cells first .. end - 1, cut to what there is.
  Window window(int first, int end) const;
  int size() const { return static_cast<int>(sum_.size()) - 1; }

 private:
  std::vector<double> sum_, sum_t_, sum_squares_;
};

/// How much likelier a step between two windows makes them than one straight line through both.
struct Step {
  double gain = 0.0;  ///< Log of the likelihood ratio, for independent cells.
  double size = 0.0;  ///< Second minus first.
};
/// @param floor2  Variance that the cells have in any case.
Step step_on_slope(const Moments::Window& first, const Moments::Window& second, double floor2);
/// The same against one level for both.
Step step_of_levels(const Moments::Window& first, const Moments::Window& second, double floor2);

/// Worth of a step in the grain the wrong way round, beside one as a bevel makes it.
inline constexpr double kOddGrain = 0.3;

/// Seen: placed within `most_u_mm`, by evidence that lies near: the mean gain of the readings up to
/// `beside` of them away.
template <typename Reading>
void mark_seen(std::vector<Reading>& readings, double most_u_mm, std::size_t beside) {
  constexpr double kLeastGain = 0.8;
  for (std::size_t i = 0; i < readings.size(); ++i) {
    const std::size_t first = i < beside ? 0 : i - beside;
    const std::size_t last = std::min(i + beside, readings.size() - 1);
    double sum = 0.0;
    for (std::size_t j = first; j <= last; ++j) sum += readings[j].gain;
    readings[i].seen =
        readings[i].u_mm < most_u_mm && sum / static_cast<double>(last - first + 1) > kLeastGain;
  }
}

}  // namespace evenbevel::side
