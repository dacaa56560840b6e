// edge_view on pictures whose borders come from a closed form, with pose by OpenCV, against numbers
// from outside the project.

#include <cmath>
#include <string>

#include <gtest/gtest.h>
#include <opencv2/imgproc.hpp>

#include "drawn_step.hpp"
#include "edge_checks.hpp"
#include "evenbevel/error.hpp"

namespace evenbevel::outside {
namespace {

// Closed form of a Gaussian-blurred step integrated over pixels, evaluated once by another program
// (scipy 1.10's normal distribution): edge at 0.3, sigma 0.8, pixels -3 to 3.
TEST(DrawnStepOutside, TheStepThatIsDrawnIsThePublishedOne) {
  const double expected[] = {0.000047, 0.003341, 0.063265, 0.362423, 0.794370, 0.977274, 0.999286};
  for (int i = -3; i <= 3; ++i) EXPECT_NEAR(test::drawn_step(i - 0.3, 0.8), expected[i + 3], 1e-6);
}

// Every border drawn by that closed form, so known to any digit. Of a face with lines it isn't
// known whether its corners are broken, and these are sharp: the interval says so, and holds them.
TEST(EdgeOfDrawnStepsClosedForm, ScribeLinesOfTheClosedFormAreRead) {
  EdgePicture picture;
  picture.tilt_rad = {0.04, -0.03, 0.01};
  picture.borders = scribed_edge(3.2, 0.40, 0.08, 0.063, 4.0);
  const EdgeResult result = measure(picture, settings_of(3.2, Stage::scribed));
  expect_held(result, 0.063);
  ASSERT_TRUE(result.line_gap_mm);
  EXPECT_NEAR(result.line_gap_mm->value, 0.40, U95(*result.line_gap_mm));
}

/// Of a unit square about `from_edge_px` beyond an edge through the origin, the area on its bright
/// side, by OpenCV's intersection of polygons.
double bright_area(double from_edge_px, double slant_rad) {
  const cv::Point2f along(cv::Point2d(std::cos(slant_rad), std::sin(slant_rad)));
  const cv::Point2f beyond(-along.y, along.x);
  const cv::Point2f middle = from_edge_px * beyond;
  const std::vector<cv::Point2f> pixel{
      middle + cv::Point2f(-0.5F, -0.5F), middle + cv::Point2f(0.5F, -0.5F),
      middle + cv::Point2f(0.5F, 0.5F), middle + cv::Point2f(-0.5F, 0.5F)};
  const std::vector<cv::Point2f> bright{-5.0F * along, 5.0F * along, 5.0F * along + 5.0F * beyond,
                                        -5.0F * along + 5.0F * beyond};
  std::vector<cv::Point2f> both;
  return cv::intersectConvexConvex(pixel, bright, both);
}

// Hardly blurred, a pixel holds the area of it on the bright side.
TEST(DrawnStepOutside, TheSlantedStepThatIsDrawnIsSampledByArea) {
  for (const double degrees : {0.5, 5.0, 20.0, 45.0, -30.0}) {
    const double slant = degrees * CV_PI / 180.0;
    for (const double from : {-0.6, -0.3, 0.0, 0.2, 0.45, 0.7})
      EXPECT_NEAR(test::drawn_step(from, 1e-4, slant), bright_area(from, slant), 2e-4);
  }
}

// Straight from above every border lies along the pixel rows, and each of its pixels shows the
// same.
TEST(EdgeOfDrawnStepsClosedForm, ABladeAlongThePixelRowsIsRead) {
  EdgePicture picture;
  picture.borders = ground_edge(3.2, 0.40, 0.047, 4.0);
  expect_held(measure(picture, settings_of(3.2, Stage::ground)), 0.047);
}

// Slanted edge of ISO 12233 (5 degrees off the pixel rows), and steeper and flatter ones: every
// sub-pixel place of the border occurs along the blade, its pixels sampled by area.
TEST(EdgeOfDrawnStepsClosedForm, ASlantedGroundEdgeIsRead) {
  for (const double degrees : {5.0, -5.0, 0.6, 11.0}) {
    EdgePicture picture;
    picture.tilt_rad = {0.03, 0.02, degrees * CV_PI / 180.0};
    picture.borders = ground_edge(3.2, 0.40, -0.052, 4.0);
    const EdgeResult result = measure(picture, settings_of(3.2, Stage::ground));
    expect_offset(result, -0.052);
    ASSERT_TRUE(result.land_width_mm);
    EXPECT_NEAR(result.land_width_mm->value, 0.40, 0.006) << degrees;
  }
}

// Frequency response of a slanted edge (ISO 12233) where lens and pixel are known: that of the
// lens, exp(-2 pi^2 sigma^2 f^2), times the pixel's, sin(pi f) / (pi f). Half of it is left at
// 0.3231 and 0.1800 cycles a pixel for sigma 0.5 and 1 px: there the blur stated, which is the
// lens's, must leave half too.
TEST(EdgeOfDrawnStepsClosedForm, TheBlurStatedHasTheLensAndPixelsFrequencyResponse) {
  constexpr struct { double sigma_px, half_response; } kKnown[] = {{0.5, 0.3231}, {1.0, 0.1800}};
  for (const auto& known : kKnown) {
    EdgePicture picture;
    picture.tilt_rad = {0.02, 0.03, 5.0 * CV_PI / 180.0};
    picture.blur_px = known.sigma_px;
    picture.borders = ground_edge(3.2, 0.50, 0.02, 4.0);
    const EdgeResult result = measure(picture, settings_of(3.2, Stage::ground));
    const double turn = CV_PI * known.half_response;
    const double lens = std::exp(-2.0 * std::pow(turn * result.blur_px, 2));
    EXPECT_NEAR(lens * std::sin(turn) / turn, 0.5, 0.015) << known.sigma_px;
  }
}

// Similar triangles: the flats' upper borders of a centred edge lie 1.4 mm below the land (facets
// at 45 degrees), 297.4 mm and 296 mm below a camera 10 mm aside; on the land's plane the middle
// of the flats seems to lie 10 (1 - 296 / 297.4) = 0.047 mm beside the land's.
TEST(EdgeOfDrawnStepsClosedForm, ParallaxBySimilarTrianglesIsTakenOut) {
  EdgePicture picture;
  picture.camera_mm = {0.0, 10.0, 300.0};
  picture.tilt_rad = {0.033, 0.02, 0.0};
  picture.borders = ground_edge(3.2, 0.40, 0.0, 4.0);
  expect_offset(measure(picture, settings_of(3.2, Stage::ground)), 0.0);
}

// 1/8 and 1/64 inch, 3.175 and 0.396875 mm exactly (international inch of 1959, 25.4 mm). With the
// edge's height given the card is the ruler: the land is read by it, and 3 mm stock taken for 1/8
// inch, or the reverse, 6 %, is noticed.
TEST(EdgeOfDrawnStepsClosedForm, InchesAreReadByTheCard) {
  EdgePicture picture;
  picture.tilt_rad = {0.03, -0.02, 0.01};
  picture.borders = ground_edge(25.4 / 8.0, 25.4 / 64.0, 0.03, 4.0);
  EdgeSettings settings = settings_of(3.175, Stage::ground);
  settings.edge_height_mm = 4.0;
  const EdgeResult result = measure(picture, settings);
  expect_offset(result, 0.03);
  ASSERT_TRUE(result.land_width_mm);
  EXPECT_NEAR(result.land_width_mm->value, 0.396875, kOffset_mm);
  settings.thickness_mm = 3.0;
  EXPECT_THROW(measure(picture, settings), Error);
}

// Symmetry zone of ISO 1101 (clause 18.15 in the numbering of 2004; text read in ISO 10303-214,
// 4.2.524): two planes a total width apart, symmetric about the datum plane. Sides 1.62 and 1.48 mm
// from the land's middle: offset 0.07 mm, so a zone of 0.14 mm: 0.1 fails, 0.2 passes.
TEST(EdgeOfDrawnStepsClosedForm, SymmetryIsTheFullWidthOfTheZone) {
  EdgePicture picture;
  picture.tilt_rad = {0.02, 0.03, 0.0};
  picture.borders = ground_edge(1.62 + 1.48, 0.36, 0.5 * (1.62 - 1.48), 3.5);
  const EdgeResult result = measure(picture, settings_of(3.10, Stage::ground));
  expect_offset(result, 0.07);
  ASSERT_TRUE(result.symmetry_mm);
  EXPECT_NEAR(result.symmetry_mm->value, 0.14, U95(*result.symmetry_mm));
  EXPECT_GT(result.symmetry_mm->value, 0.1);
  EXPECT_LT(result.symmetry_mm->value, 0.2);
}

/// Codes as OpenCV makes them: linear light to Lab and back to sRGB.
cv::Mat opencv_srgb(const cv::Mat& linear) {
  cv::Mat lab, codes;
  cv::cvtColor(linear, lab, cv::COLOR_LBGR2Lab);
  cv::cvtColor(lab, codes, cv::COLOR_Lab2BGR);
  return codes;
}

cv::Mat power_codes(const cv::Mat& linear, double gamma) {
  cv::Mat codes;
  cv::pow(cv::max(linear, 0.0), 1.0 / gamma, codes);
  return codes;
}

// Tone curve: OpenCV's own sRGB, and another power than IEC 61966-2-1's. A border read at the
// middle of the wrong codes moves by up to 0.8 sigma (0.5^2.2 = 0.218 of the light), opposite
// borders against each other: widths suffer, the middle does not.
TEST(EdgeOfDrawnStepsClosedForm, TheToneCurveDoesNotMoveTheMiddle) {
  EdgePicture picture;
  picture.tilt_rad = {0.03, 0.02, 0.02};
  picture.borders = ground_edge(3.2, 0.40, 0.045, 4.0);
  picture.encode = opencv_srgb;
  expect_offset(measure(picture, settings_of(3.2, Stage::ground)), 0.045);
  picture.encode = [](const cv::Mat& linear) { return power_codes(linear, 1.8); };
  expect_offset(measure(picture, settings_of(3.2, Stage::ground)), 0.045);
}

}  // namespace
}  // namespace evenbevel::outside
