#pragma once

#include <optional>
#include <span>
#include <vector>

#include <opencv2/core/mat.hpp>

#include "evenbevel/trace.hpp"

namespace evenbevel {

// A camera sharpens its encoded picture, after the tone curve. In linear light that moves a border
// toward its dark side, by the more the stronger the border is: a seventh of a pixel from bright
// steel to a shadow, nothing between two greys. So a blade under one lamp comes out off its middle.
// The card's printed borders show how the picture was sharpened, and the filter is taken back.

/// An unsharp mask: encoded light plus `amount` times what a Gaussian blur takes from it.
struct Sharpening {
  double amount = 0.0;
  double radius_px = 1.2;  ///< Sigma.

  bool moves_borders() const { return amount >= 0.05; }
};

/// How one border between two printed levels was sharpened: a step of linear light, blurred by the
/// lens, encoded (IEC 61966-2-1), sharpened.
/// @param border_px  Roughly.
/// @param clip  Linear light from which on a sample is beyond the camera's range.
/// Empty: the model does not fit.
std::optional<Sharpening> sharpening_of(std::span<const ProfileSample> samples, double border_px,
                                        double blur_px, double clip);

/// A border between two printed levels as the picture shows it.
struct PrintedBorder {
  std::vector<ProfileSample> samples;
  ProfileModel step;  ///< Fitted, its blur free.
};

/// Empty: the levels hardly differ, or no step fits.
/// @param samples  About the border's expected place, 0.
std::optional<PrintedBorder> printed_border(std::vector<ProfileSample> samples, double clip);

/// Median of what these borders say. Empty: fewer than four of them tell.
std::optional<Sharpening> sharpening_of(std::span<const PrintedBorder> borders, double clip);

/// The picture before it was sharpened; what was clipped stays so.
/// @param encoded  CV_8UC1 or CV_16UC1.
/// @param clip_encoded  8-bit code from which on light is beyond the camera's range.
/// @return CV_16UC1.
/// Landweber's iteration: the mask's answer lies between 1 and 1 + amount, so it converges fast.
cv::Mat unsharpened(const cv::Mat& encoded, const Sharpening& sharpening, double clip_encoded);

}  // namespace evenbevel
