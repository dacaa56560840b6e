#pragma once

#include <random>

#include <opencv2/core/mat.hpp>

#include "imaging.hpp"

namespace evenbevel::test {

/// Code (0..1, CV_32FC3) of linear light (CV_32FC3) by way of lateral colour, a sensor under a
/// colour mosaic with its noise and clipping, demosaicing, tone curve, denoising and local tone.
/// @pre imaging.phone is set.
cv::Mat phone_code(const cv::Mat& light, const Imaging& imaging, std::mt19937_64& rng);

}  // namespace evenbevel::test
