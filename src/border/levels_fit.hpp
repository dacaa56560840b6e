#pragma once

#include <span>
#include <vector>

#include "evenbevel/trace.hpp"

namespace evenbevel {

/// A profile of plain levels with a blurred border between each and the next: level[i] up to
/// border[i], then level[i + 1]. All borders and levels are fitted together; a level or a border
/// that a narrow strip does not show is held near what other places show of it.
struct LevelsModel {
  std::vector<double> border_px;  ///< Rising.
  std::vector<double> level;      ///< One more than borders.
  std::vector<double> blur_px;    ///< A border each, Gaussian sigma; held.
  bool has_ramp = false;          ///< Beyond the last border the light goes on changing straight,
  double ramp_per_px = 0.0;       ///< as where something out of focus begins.

  double value(double t_px) const;
};

/// What is known beforehand of one unknown; u <= 0: nothing.
struct Expectation {
  double value = 0.0, u = 0.0;
};

struct LevelsExpected {
  std::vector<Expectation> level;  ///< One a level, or empty.
  Expectation last_gap_px;         ///< Last border minus the one before it.
};

/// A ramp of slope 1 from 0, seen through blur and pixel: the integral of blurred_step,
/// sigma^2 [H((t + 1/2) / sigma) - H((t - 1/2) / sigma)], H(u) = ((u^2 + 1) Phi + u phi) / 2.
double blurred_ramp(double t_px, double blur_px);

struct LevelsFit {
  LevelsModel model;
  std::vector<double> u_px;  ///< Of the borders; scaled by the residuals.
  double gap_u_px = 0.0;     ///< Of the second border minus the first.
  double rms = 0.0;          ///< Of a pixel, linear light.
  double misfit = 0.0;       ///< Weighted sum of squares, the expectations included.
  bool converged = false;
};

/// Least squares with Huber's weights (2.5 robust sigmas). A sample's weight is the number of
/// pixels in it.
/// @param pixel_noise  Of one pixel, linear light: weighs the expectations against the samples.
LevelsFit fit_levels(std::span<const ProfileSample> samples, LevelsModel start,
                     const LevelsExpected& expected, double pixel_noise);

}  // namespace evenbevel
