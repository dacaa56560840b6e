#include "record/preview_window.hpp"

#include <cmath>

#include <Eigen/Geometry>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "seeded.hpp"

namespace evenbevel {
namespace {

using Json = nlohmann::json;
using Eigen::Vector2d;

/// A photo of a blade: turned, scaled and moved, never mirrored.
struct Shot {
  double turn_rad = 0.0, px_per_mm = 10.0;
  Vector2d origin_px = {2000.0, 1500.0};

  static Shot any(std::mt19937_64& rng) {
    return {test::uniform(rng, -3.1, 3.1),
            test::uniform(rng, 4.0, 25.0),
            {test::uniform(rng, 500.0, 3500.0), test::uniform(rng, 500.0, 2500.0)}};
  }
  /// @param right_down  mm, as the preview's u and v.
  Vector2d px(double right_mm, double down_mm) const {
    return origin_px + px_per_mm * (Eigen::Rotation2Dd(turn_rad) * Vector2d(right_mm, down_mm));
  }
};

Json px_of(const Vector2d& px) { return {px.x(), px.y()}; }

Vector2d photo_px(const PreviewWindow& w, double u_mm, double v_mm) {
  return w.origin_px + u_mm * w.u_px_per_mm + v_mm * w.v_px_per_mm;
}

double spine_mm(double x_mm) { return x_mm < 60.0 ? 0.0 : 0.01 * std::pow(x_mm - 60.0, 2); }
double edge_mm(double x_mm) { return 26.0 - 0.004 * x_mm * x_mm; }

/// x from -40 at the handle to 80 at the tip; spine straight at the handle, edge curved.
Json side_report(const Shot& shot, const std::string& face) {
  Json report = {{"view", "side"}, {"stations", Json::array()}};
  for (double x = -40.0; x <= 80.0; x += 1.0) {
    const double right = face == "left" ? -x : x;
    Json px = {{"spine", px_of(shot.px(right, spine_mm(x)))},
               {"edge", px_of(shot.px(right, edge_mm(x)))}};
    report["stations"].push_back({{"x", x}, {"px", {{face, px}}}});
  }
  return report;
}

TEST(PreviewWindowProperty, AFaceLiesWithItsEdgeDownHoweverThePhotoWasHeld) {
  for (int trial = 0; trial < 200; ++trial) {
    std::mt19937_64 rng = test::seeded("PreviewWindowProperty", trial);
    const Shot shot = Shot::any(rng);
    for (const std::string face : {"left", "right"}) {
      const auto window = preview_window(side_report(shot, face), face);
      ASSERT_TRUE(window) << trial;
      EXPECT_EQ(window->u_from_mm, face == "left" ? -80.0 : -40.0);
      EXPECT_EQ(window->u_to_mm, face == "left" ? 40.0 : 80.0);
      for (const double u : {-30.0, 0.0, 25.0}) {
        for (const double v : {0.0, 20.0}) {
          EXPECT_LT((photo_px(*window, u, v) - shot.px(u, v)).norm(), 1e-6) << trial << ' ' << face;
        }
      }
      EXPECT_LT(window->v_from_mm, 0.0);
      EXPECT_GT(window->v_to_mm, 26.0) << "the whole blade is in it";
    }
  }
}

// Edge up in the photo, heel to the camera: the left face is at the right.
TEST(PreviewWindowProperty, ASectionLiesWithItsEdgeToTheLeft) {
  for (int trial = 0; trial < 200; ++trial) {
    std::mt19937_64 rng = test::seeded("PreviewWindowSection", trial);
    const Shot shot = Shot::any(rng);
    Json report = {{"view", "choil"}, {"stations", Json::array()}};
    for (double depth = 0.1; depth < 24.0; depth += 0.1) {
      const double half = 0.15 + 0.05 * depth;
      report["stations"].push_back(
          {{"depth", depth},
           {"px",
            {{"left", px_of(shot.px(half, depth))}, {"right", px_of(shot.px(-half, depth))}}}});
    }
    const auto window = preview_window(report, "");
    ASSERT_TRUE(window) << trial;
    EXPECT_LT((photo_px(*window, 10.0, -0.65) - shot.px(0.65, 10.0)).norm(), 1e-6) << "left above";
    EXPECT_GT(window->v_to_mm, 0.15 + 0.05 * 23.9);
  }
}

TEST(PreviewWindowBadInput, WithoutStationsThereIsNone) {
  EXPECT_FALSE(preview_window(Json::array(), ""));
  EXPECT_FALSE(preview_window({{"view", "side"}}, "left"));
  EXPECT_FALSE(preview_window({{"view", 3}, {"stations", {1, 2, "x"}}}, "left"));
  EXPECT_FALSE(preview_window({{"view", "choil"}, {"stations", {1, Json::array(), "x"}}}, ""));
  EXPECT_FALSE(preview_window(side_report({}, "left"), "right"));
  Json huge = side_report({}, "left");
  for (Json& station : huge["stations"]) station["x"] = 1e6 * station["x"].get<double>();
  EXPECT_FALSE(preview_window(huge, "left")) << "no blade is a kilometre long";
  Json one_place = side_report({}, "left");
  for (Json& station : one_place["stations"]) station["x"] = 5.0;
  EXPECT_FALSE(preview_window(one_place, "left"));
}

}  // namespace
}  // namespace evenbevel
