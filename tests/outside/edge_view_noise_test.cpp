// How far noise alone moves what edge_view reads, against the bound that no reader can go below.

#include <cmath>
#include <vector>

#include <gtest/gtest.h>

#include "edge_checks.hpp"

namespace evenbevel::outside {
namespace {

/// Of the curve of IEC 61966-2-1: how much linear light a code makes, at this light.
double light_per_code(double light) {
  const double code = 1.055 * std::pow(light, 1.0 / 2.4) - 0.055;
  return 2.4 / 1.055 * std::pow((code + 0.055) / 1.055, 1.4);
}

/// The Cramer-Rao bound of a border's place, px, over so many rows: n/A sqrt(2 sqrt(pi) s), with
/// contrast A, noise n and blur s, the pixel's own square in it (A. Gatherer, The Cramer-Rao Bound
/// for Discrete-Time Edge Position Estimation, Stanford CSL-TR-93-560, 1993). Noise as it is
/// half-way up the border.
double bound_px(double dark, double bright, double code_noise, double blur_px, double rows) {
  const double noise = code_noise * light_per_code(0.5 * (dark + bright));
  const double s = std::hypot(blur_px, std::sqrt(1.0 / 12.0));
  return noise / (bright - dark) * std::sqrt(2.0 * std::sqrt(CV_PI) * s / rows);
}

double deviation(const std::vector<double>& values) {
  double sum = 0.0, squares = 0.0;
  for (const double v : values) sum += v, squares += v * v;
  const auto n = static_cast<double>(values.size());
  return std::sqrt((squares - sum * sum / n) / (n - 1.0));
}

// The same scene with six other noises. The land's width is that of two borders, over the length
// read. Six trials know a deviation to a third (chi squared on 5: from half of it to 1.6 times it
// in 97 of 100).
TEST(EdgeNoiseOutside, NoiseMovesTheLandsWidthByAboutTheCramerRaoBound) {
  EdgePicture picture;
  picture.tilt_rad = {0.03, 0.02, 5.0 * CV_PI / 180.0};
  picture.borders = ground_edge(3.2, 0.42, 0.02, 4.0);
  picture.noise = 6.0;
  const cv::Mat codes = draw_codes(picture);
  std::vector<double> widths_px;
  double stations = 0.0;
  for (int seed = 100; seed < 106; ++seed) {
    picture.noise_seed = seed;
    const EdgeResult result =
        edge_view(with_noise(codes, picture), picture.camera(), settings_of(3.2, Stage::ground));
    ASSERT_TRUE(result.land_width_mm);
    widths_px.push_back(result.land_width_mm->value * result.scale_px_per_mm);
    stations = static_cast<double>(result.stations.size());
  }
  // Stations are 2 mm apart, 15.2 px/mm; grey is 0.30, 0.59 and 0.11 of three noises alike.
  const double rows = stations * 2.0 * 15.2;
  const double grey_noise =
      picture.noise / 255.0 * std::sqrt(0.299 * 0.299 + 0.587 * 0.587 + 0.114 * 0.114);
  const double bound = std::hypot(bound_px(0.15, 0.35, grey_noise, picture.blur_px, rows),
                                  bound_px(0.15, 0.41, grey_noise, picture.blur_px, rows));
  EXPECT_GT(deviation(widths_px), 0.5 * bound);
  EXPECT_LT(deviation(widths_px), 4.0 * bound);
}

}  // namespace
}  // namespace evenbevel::outside
