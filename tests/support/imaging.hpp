#pragma once

#include <optional>
#include <random>

#include <opencv2/core/mat.hpp>

#include "sensor.hpp"

namespace evenbevel::test {

/// A phone's way from the sensor to the code: roughly, as its kind goes, no maker's own.
struct PhoneChain {
  double lateral_px =
      0.4;  ///< Red out and blue in by this, at the picture's left and right border.
  bool follow_edges = true;  ///< Demosaicing along the smaller gradient, else bilinear.
  double denoise = 0.02;     ///< Differences of code that are smoothed away.
  double local_tone = 0.15;  ///< Shadows lifted, lights lowered: power of the surroundings' code.
};

/// What the camera makes of the light, in this order.
struct Imaging {
  double blur_px = 0.8;       ///< Gaussian sigma of the lens, besides the pixel's own square.
  double exposure = 1.0;      ///< Linear light times this; 1 and above is clipped.
  double read_noise = 0.002;  ///< Standard deviation, linear, full scale 1.
  double shot_noise = 0.005;  ///< Standard deviation at full scale; grows as the root of light.
  bool srgb = true;           ///< sRGB tone curve (IEC 61966-2-1), else linear.
  std::optional<PhoneChain> phone = std::nullopt;  ///< Colour mosaic and what follows it.
  double sharpen = 0.0;                    ///< Unsharp mask after the tone curve: amount ...
  double sharpen_px = 1.0;                 ///< ... and sigma.
  std::optional<int> jpeg = std::nullopt;  ///< Quality of a round trip through JPEG.
};

/// Linear light at the pixels. A border's pixels, blurred only afterwards, would move it by up to
/// 0.016 px with its place between pixels: so a part of the blur is best taken before sampling.
struct Light {
  cv::Mat pixels;        ///< CV_32FC1 or CV_32FC3.
  double blur_px = 0.0;  ///< Gaussian sigma that they hold already.
};

/// 8-bit picture, as many channels as the light has.
/// @pre The light holds no more blur than the picture is to have.
cv::Mat take_picture(const Light& light, const Imaging& imaging, std::mt19937_64& rng);

}  // namespace evenbevel::test
