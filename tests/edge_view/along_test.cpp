#include "edge_view/along.hpp"

#include <cmath>
#include <vector>

#include <gtest/gtest.h>

namespace evenbevel::edge {
namespace {

std::vector<EdgeStation> with_widths(int stations, double first_mm, double per_mm) {
  std::vector<EdgeStation> out;
  for (int i = 0; i < stations; ++i) {
    EdgeStation station;
    station.x_mm = i;
    station.land_width_mm = Measured{first_mm + per_mm * i, 0.01};
    out.push_back(station);
  }
  return out;
}

TEST(LandTaperClosedForm, IsTheSlopeOverAHundredMillimetres) {
  const auto taper = land_taper_mm(with_widths(81, 0.30, 0.001));
  ASSERT_TRUE(taper);
  EXPECT_NEAR(taper->value, 0.100, 1e-9);
  EXPECT_NEAR(taper->u, 100.0 / 80.0 * 0.5 * std::sqrt(2.0) * 0.01, 1e-12);
}

TEST(LandTaperClosedForm, AShortOrUnseenLandGivesNone) {
  EXPECT_FALSE(land_taper_mm(with_widths(20, 0.30, 0.001))) << "19 mm";
  std::vector<EdgeStation> unseen = with_widths(81, 0.30, 0.0);
  for (EdgeStation& station : unseen) station.land_width_mm.reset();
  EXPECT_FALSE(land_taper_mm(unseen));
}

/// A ground edge seen from straight above, its flats bent by `sagitta` in the middle.
Placement bent(double sagitta_mm) {
  constexpr double kLength = 100.0;
  Placement placed{.plane = StripFrame(CameraModel{}, Transform<Camera, Card>{}, 5.0, 0.0),
                   .bands = {},
                   .plunges = {},
                   .camera = {},
                   .settings = {},
                   .metric = {}};
  placed.settings.stage = Stage::ground;
  placed.camera.height_mm = 200.0;
  for (int s = 0; s <= 100; ++s) {
    const double arc = 4.0 * sagitta_mm * s * (kLength - s) / (kLength * kLength);
    BandReadings band;
    band.s_mm = s;
    band.px_per_mm = 15.0;
    band.flat_high = Reading{1.6 + arc, 0.001};
    band.flat_low = Reading{-1.6 + arc, 0.001};
    placed.bands.push_back(band);
  }
  return placed;
}

TEST(BowClosedForm, IsTheHeightOfTheArcOverItsChord) {
  const auto bow = bow_mm(bent(0.06));
  ASSERT_TRUE(bow);
  EXPECT_NEAR(bow->value, 0.06, 1e-6);
  EXPECT_GT(bow->u, 0.005) << "a lens is known to a tenth of a pixel only";
  double squares = 0.0;
  for (const BudgetLine& line : bow->budget) squares += line.u * line.u;
  EXPECT_NEAR(bow->u * bow->u, squares, 1e-12);
}

TEST(BowClosedForm, AStraightBladeHasNone) {
  const auto bow = bow_mm(bent(0.0));
  ASSERT_TRUE(bow);
  EXPECT_NEAR(bow->value, 0.0, 1e-6);
}

}  // namespace
}  // namespace evenbevel::edge
