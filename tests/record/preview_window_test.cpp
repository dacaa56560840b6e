#include "record/preview_window.hpp"

#include <cmath>

#include <Eigen/Geometry>
#include <gtest/gtest.h>

#include "seeded.hpp"

namespace evenbevel {
namespace {

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

Vector2d photo_px(const PreviewWindow& w, double u_mm, double v_mm) {
  return w.origin_px + u_mm * w.u_px_per_mm + v_mm * w.v_px_per_mm;
}

double spine_mm(double x_mm) { return x_mm < 60.0 ? 0.0 : 0.01 * std::pow(x_mm - 60.0, 2); }
double edge_mm(double x_mm) { return 26.0 - 0.004 * x_mm * x_mm; }

/// x from -40 at the handle to 80 at the tip; spine straight at the handle, edge curved.
Statement side_report(const Shot& shot, const std::string& face) {
  Statement report{.view = "side"};
  for (double x = -40.0; x <= 80.0; x += 1.0) {
    const double right = face == "left" ? -x : x;
    report.stations.push_back({.at_mm = x,
                               .places = {{face, "spine", shot.px(right, spine_mm(x))},
                                          {face, "edge", shot.px(right, edge_mm(x))}}});
  }
  return report;
}

TEST(PreviewWindowProperty, AFaceLiesWithItsEdgeDownAndItsTipAtTheRight) {
  for (int trial = 0; trial < 200; ++trial) {
    std::mt19937_64 rng = test::seeded("PreviewWindowProperty", trial);
    const Shot shot = Shot::any(rng);
    for (const std::string face : {"left", "right"}) {
      const auto window = preview_window(side_report(shot, face), face);
      ASSERT_TRUE(window) << trial;
      EXPECT_EQ(window->u_from_mm, -40.0);
      EXPECT_EQ(window->u_to_mm, 80.0);
      const double to_tip = face == "left" ? -1.0 : 1.0;  // a left face is seen tip to the left
      for (const double u : {-30.0, 0.0, 25.0}) {
        for (const double v : {0.0, 20.0}) {
          EXPECT_LT((photo_px(*window, u, v) - shot.px(to_tip * u, v)).norm(), 1e-6)
              << trial << ' ' << face;
        }
      }
      EXPECT_LT(window->v_from_mm, 0.0);
      EXPECT_GT(window->v_to_mm, 26.0) << "the whole blade is in it";
    }
  }
}

// Edge up in the photo, heel to the camera: the left face is at the right.
TEST(PreviewWindowProperty, ASectionLiesWithItsEdgeDownAndLeftAtTheLeft) {
  for (int trial = 0; trial < 200; ++trial) {
    std::mt19937_64 rng = test::seeded("PreviewWindowSection", trial);
    const Shot shot = Shot::any(rng);
    Statement report{.view = "choil", .along = "depth"};
    for (double depth = 0.1; depth < 24.0; depth += 0.1) {
      const double half = 0.15 + 0.05 * depth;
      report.stations.push_back(
          {.at_mm = depth,
           .places = {{"", "left", shot.px(half, depth)}, {"", "right", shot.px(-half, depth)}}});
    }
    const auto window = preview_window(report, "");
    ASSERT_TRUE(window) << trial;
    EXPECT_LT((photo_px(*window, -0.65, -10.0) - shot.px(0.65, 10.0)).norm(), 1e-6);
    EXPECT_LT(window->u_from_mm, -(0.15 + 0.05 * 23.9));
    EXPECT_LE(window->v_from_mm, -23.9);
    EXPECT_GT(window->v_to_mm, 0.0);
  }
}

TEST(PreviewWindowBadInput, WithoutStationsThereIsNone) {
  EXPECT_FALSE(preview_window({}, ""));
  EXPECT_FALSE(preview_window({.view = "edge"}, ""));
  EXPECT_FALSE(preview_window({.view = "side"}, "left"));
  EXPECT_FALSE(preview_window({.view = "choil"}, ""));
  EXPECT_FALSE(
      preview_window({.view = "side", .stations = {{.at_mm = 1.0}, {.at_mm = 2.0}}}, "left"));
  EXPECT_FALSE(preview_window(side_report({}, "left"), "right"));
  Statement huge = side_report({}, "left");
  for (StatedStation& station : huge.stations) station.at_mm *= 1e6;
  EXPECT_FALSE(preview_window(huge, "left")) << "no blade is a kilometre long";
  Statement one_place = side_report({}, "left");
  for (StatedStation& station : one_place.stations) station.at_mm = 5.0;
  EXPECT_FALSE(preview_window(one_place, "left"));
}

}  // namespace
}  // namespace evenbevel
