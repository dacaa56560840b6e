// Known biases of edge and line finders, from the literature, and what the joint fits make of them.

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include <gtest/gtest.h>

#include "evenbevel/trace.hpp"
#include "evenbevel/units.hpp"
#include "imaging.hpp"

namespace evenbevel {
namespace {

/// Profiles here are drawn this much enlarged, so that the pixel's square (variance 1/12) vanishes
/// beside the blur and the continuous formulas hold to 1e-3.
constexpr double kScale = 20.0;

std::vector<ProfileSample> sampled(const ProfileModel& model, int half_window) {
  std::vector<ProfileSample> samples;
  for (int i = -half_window; i <= half_window; ++i) {
    samples.push_back({.t_px = static_cast<double>(i), .value = model.value(i)});
  }
  return samples;
}

std::vector<float> values_of(const ProfileModel& model, int half_window) {
  std::vector<float> values;
  for (int i = -half_window; i <= half_window; ++i) {
    values.push_back(static_cast<float>(model.value(i)));
  }
  return values;
}

/// Bar of half width w on a background of 0 on its left and `a` on its right.
ProfileModel uneven_bar(double half_width, double sigma, double a) {
  return {.positions_px = {-half_width, half_width},
          .parts = {{.position = 0, .amplitude = 1.0}, {.position = 1, .amplitude = a - 1.0}},
          .blur_px = sigma};
}

double width(const ProfileFit& fit) {
  return fit.model.positions_px[1] - fit.model.positions_px[0];
}
double middle(const ProfileFit& fit) {
  return 0.5 * (fit.model.positions_px[0] + fit.model.positions_px[1]);
}

struct UnevenBar {
  double half_width, sigma, a, shift;
};

// C. Steger, IEEE PAMI 20 (1998), 113-125: the extracted line moves by -(sigma^2 / 2w) ln(1 - a)
// toward the weaker side; values computed from that formula.
constexpr std::array<UnevenBar, 4> kUnevenBars{{{1.0, 0.57735, 0.5, 0.11552},
                                                {1.0, 1.0, 0.5, 0.34657},
                                                {1.5, 1.5, 0.3, 0.26751},
                                                {2.0, 2.0, 0.2, 0.22314}}};

TEST(TraceOutside, TheBrightestPlaceOfAnUnevenLineMovesAsStegerSays) {
  for (const UnevenBar& bar : kUnevenBars) {
    const ProfileModel model = uneven_bar(kScale * bar.half_width, kScale * bar.sigma, bar.a);
    const int half_window = static_cast<int>(6.0 * kScale);
    const std::vector<Peak> peaks = local_maxima(values_of(model, half_window), 0.01F);
    ASSERT_FALSE(peaks.empty());
    const Peak brightest = *std::max_element(
        peaks.begin(), peaks.end(), [](const Peak& a, const Peak& b) { return a.value < b.value; });
    // Single precision on a flat top: a tenth of an enlarged pixel, 0.005 px.
    EXPECT_NEAR((brightest.index - half_window) / kScale, bar.shift, 0.005);
  }
}

TEST(TraceOutside, AJointFitOfBothSidesDoesNotMove) {
  for (const UnevenBar& bar : kUnevenBars) {
    const ProfileModel model = uneven_bar(bar.half_width, bar.sigma, bar.a);
    const ProfileFit fit =
        fit_strip(sampled(model, 12), -bar.half_width + 0.3, bar.half_width + 0.3, bar.sigma);
    ASSERT_TRUE(fit.converged);
    EXPECT_NEAR(middle(fit), 0.0, 1e-3);
  }
}

struct StripWidth {
  double width_over_sigma, ratio;
};

// Steger, as above: distance of the steepest places of a blurred bar, over its true width;
// computed.
constexpr std::array<StripWidth, 5> kStripWidths{
    {{1.0, 2.087}, {1.5, 1.472}, {2.0, 1.200}, {2.5, 1.073}, {3.0, 1.0205}}};

TEST(TraceOutside, SteepestPlacesOverstateANarrowStrip) {
  for (const StripWidth& strip : kStripWidths) {
    const double half_width = 0.5 * kScale * strip.width_over_sigma;
    const ProfileModel model = uneven_bar(half_width, kScale, 0.0);
    std::vector<float> rise;
    const int half_window = static_cast<int>(6.0 * kScale);
    for (int i = -half_window; i <= half_window; ++i) {
      rise.push_back(static_cast<float>(model.value(i + 0.5) - model.value(i - 0.5)));
    }
    const std::vector<Peak> peaks = local_maxima(rise, 0.005F);
    ASSERT_EQ(peaks.size(), 1U);
    const double extracted = 2.0 * (half_window - peaks[0].index);
    EXPECT_NEAR(extracted / (2.0 * half_width), strip.ratio, 0.003);
  }
}

TEST(TraceOutside, AJointFitReadsTheTrueWidthDownToOneBlur) {
  for (const StripWidth& strip : kStripWidths) {
    const double half_width = 0.5 * strip.width_over_sigma;
    const ProfileModel model = uneven_bar(half_width, 1.0, 0.0);
    const ProfileFit fit =
        fit_strip(sampled(model, 12), -strip.ratio * half_width, strip.ratio * half_width, 1.0);
    ASSERT_TRUE(fit.converged);
    EXPECT_NEAR(width(fit), 2.0 * half_width, 0.01) << strip.width_over_sigma;
  }
}

// --- Curved edges -------------------------------------------------------------------------------

/// exp(-x) I0(x); M. Abramowitz and I. Stegun, 9.7.1, beyond 30 (from memory).
double scaled_bessel(double x) {
  if (x < 30.0) return std::exp(-x) * std::cyl_bessel_i(0.0, x);
  const double t = 1.0 / (8.0 * x);
  return (1.0 + t * (1.0 + 4.5 * t * (1.0 + 25.0 / 3.0 * t))) / std::sqrt(2.0 * kPi * x);
}

/// A disc blurred by a Gaussian, at a distance from its centre: the exact integral over rings.
double blurred_disc(double radius, double sigma, double at) {
  constexpr int kRings = 4000;
  const double inner = std::max(0.0, at - 9.0 * sigma);
  const double outer = std::min(radius, at + 9.0 * sigma);
  if (outer <= inner) return 0.0;
  const double width = (outer - inner) / kRings;
  double sum = 0.0;
  for (int i = 0; i < kRings; ++i) {
    const double ring = inner + (i + 0.5) * width;
    const double off = (at - ring) / sigma;
    sum += ring * std::exp(-0.5 * off * off) * scaled_bessel(at * ring / (sigma * sigma));
  }
  return sum * width / (sigma * sigma);
}

struct Disc {
  double radius, sigma, bias;
};

// P. Mendonca, D. Padfield, J. Miller and M. Turek, "Bias in the Localization of Curved Edges",
// ECCV 2004: -sigma^2 / (2 R), here in its exact form for the steepest place, computed.
constexpr std::array<Disc, 4> kDiscs{
    {{100.0, 1.0, -0.00500}, {50.0, 2.0, -0.03998}, {20.0, 2.0, -0.0997}, {10.0, 1.0, -0.0499}}};

TEST(TraceOutside, TheSteepestPlaceOfADiscLiesInside) {
  for (const Disc& disc : kDiscs) {
    const double step = disc.sigma / kScale;
    std::vector<float> fall;
    for (int i = -60; i <= 60; ++i) {
      const double at = disc.radius + i * step;
      fall.push_back(static_cast<float>(blurred_disc(disc.radius, disc.sigma, at - 0.5 * step) -
                                        blurred_disc(disc.radius, disc.sigma, at + 0.5 * step)));
    }
    const std::vector<Peak> peaks = local_maxima(fall, 0.01F);
    ASSERT_FALSE(peaks.empty());
    // Single precision on the flat top of the slope, in steps of sigma / 20.
    EXPECT_NEAR((peaks[0].index - 60.0) * step, disc.bias, 0.1 * step);
  }
}

TEST(TraceOutside, AStepFittedAcrossADiscCarriesTheSameSmallBias) {
  for (const Disc& disc : kDiscs) {
    std::vector<ProfileSample> samples;
    const double step = disc.sigma / kScale;
    for (int i = -80; i <= 80; ++i) {
      samples.push_back({.t_px = static_cast<double>(i),
                         .value = blurred_disc(disc.radius, disc.sigma, disc.radius + i * step)});
    }
    const ProfileFit fit = fit_step(samples, 0.0, kScale);
    ASSERT_TRUE(fit.converged);
    // The whole flank bends, not only its middle: within a tenth of the bias, and never more than
    // 0.01 px for the gentle curves of a blade (R above 50 blurs).
    EXPECT_NEAR(fit.model.positions_px[0] * step, disc.bias, 0.1 * std::abs(disc.bias));
  }
}

// --- Tone curve ---------------------------------------------------------------------------------

// IEC 61966-2-1 (from memory): half of the code is 0.21404 of the light, so a step thresholded at
// half of the code reads 0.792 sigma toward the dark side (computed).
TEST(TraceOutside, HalfOfTheCodeLiesTowardTheDarkSide) {
  EXPECT_NEAR(linear_light(0.5), 0.21404, 5e-6);
  const double sigma = kScale;
  double crossing = -3.0 * sigma;
  while (blurred_step(crossing, sigma) < linear_light(0.5)) crossing += 0.01;
  EXPECT_NEAR(crossing / sigma, -0.792, 0.001);
}

TEST(TraceOutside, LinearLightUndoesTheToneCurve) {
  for (int code = 0; code <= 255; ++code) {
    const double encoded = code / 255.0;
    EXPECT_NEAR(test::srgb_code(linear_light(encoded)), encoded, 1e-4);  // the curve's own joint
  }
}

TEST(TraceOutside, WidthsAreWrongInCodeButTheMiddleIsNot) {
  constexpr int kPhases = 10;
  double mean_width = 0.0;
  double mean_middle = 0.0;
  for (int phase = 0; phase < kPhases; ++phase) {
    const double at = 0.1 * phase;
    ProfileModel strip = uneven_bar(3.0, 0.8, 0.0);
    strip.background = 0.05;
    strip.parts[0].amplitude = 0.6;
    strip.parts[1].amplitude = -0.6;
    std::vector<ProfileSample> coded;
    std::vector<ProfileSample> linear;
    for (int i = -12; i <= 12; ++i) {
      const double code = test::srgb_code(strip.value(i - at));
      coded.push_back({.t_px = static_cast<double>(i), .value = code});
      linear.push_back({.t_px = static_cast<double>(i), .value = linear_light(code)});
    }
    const ProfileFit wrong = fit_strip(coded, -3.0, 3.0, 0.8);
    const ProfileFit right = fit_strip(linear, -3.0, 3.0, 0.8);
    ASSERT_TRUE(wrong.converged && right.converged);
    EXPECT_NEAR(width(right), 6.0, 0.001);
    EXPECT_NEAR(middle(right), at, 0.001);
    EXPECT_NEAR(middle(wrong), at, 0.02);  // comes and goes with the place between pixels
    mean_width += width(wrong) / kPhases;
    mean_middle += (middle(wrong) - at) / kPhases;
  }
  EXPECT_GT(mean_width, 6.5);  // each side outward by a quarter of a pixel or more
  EXPECT_NEAR(mean_middle, 0.0, 0.001);
}

// --- Sharpness ----------------------------------------------------------------------------------

struct Response {
  double blur_px, mtf50, at_quarter;
};

// ISO 12233's edge method on a system known in closed form: exp(-2 pi^2 sigma^2 f^2) sinc(f);
// values computed.
constexpr std::array<Response, 5> kResponses{{{0.3, 0.4423, 0.8057},
                                              {0.5, 0.3231, 0.6614},
                                              {0.7, 0.2471, 0.4919},
                                              {1.0, 0.1800, 0.2622},
                                              {1.5, 0.1227, 0.0561}}};

double response_at(double frequency, double blur_px) {
  const double x = kPi * frequency;
  return std::exp(-2.0 * x * x * blur_px * blur_px) * std::sin(x) / x;
}

TEST(TraceOutside, TheBlurOfASlantedEdgeGivesItsFrequencyResponse) {
  const double slant = radians(5.0);
  for (const Response& expected : kResponses) {
    double blur_px = 0.0;
    constexpr int kRows = 40;
    for (int row = 0; row < kRows; ++row) {
      std::vector<ProfileSample> samples;
      for (int i = -10; i <= 10; ++i) {
        const double distance = (i - 0.1 - 0.0875 * row) * std::cos(slant) + 1.7 * std::sin(slant);
        samples.push_back(
            {.t_px = static_cast<double>(i), .value = blurred_step(distance, expected.blur_px)});
      }
      const ProfileFit fit = fit_step(samples, 0.0875 * row, 0.8);
      ASSERT_TRUE(fit.converged);
      blur_px += fit.model.blur_px * std::cos(slant) / kRows;
    }
    // The pixel's square, taken along the row, is 0.4 % wider than across the edge.
    EXPECT_NEAR(blur_px, expected.blur_px, 0.01);
    EXPECT_NEAR(response_at(0.25, blur_px), expected.at_quarter, 0.01);
    EXPECT_NEAR(response_at(expected.mtf50, blur_px), 0.5, 0.01);
  }
}

}  // namespace
}  // namespace evenbevel
