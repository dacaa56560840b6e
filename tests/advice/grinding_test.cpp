// What is advised for one zone, over random lands, against the blade's geometry.

#include "advice/grinding.hpp"

#include <cmath>
#include <stdexcept>

#include <gtest/gtest.h>

#include "seeded.hpp"

namespace evenbevel {
namespace {

constexpr double kRounding_mm = 2e-5;  // values of remarks are rounded to 1e-5

std::optional<double> number_of(const Remark& remark, const std::string& name) {
  for (const NamedRemarkValue& value : remark.values) {
    if (value.name == name) return std::get<double>(value.value);
  }
  return std::nullopt;
}

struct Land {
  Measured offset_mm, width_mm;
  double angle_rad = 0.0;
};

Land random_land(int number) {
  std::mt19937_64 rng = test::seeded("Grinding", number);
  return {
      .offset_mm = {.value = test::uniform(rng, -0.12, 0.12), .u = test::uniform(rng, 0.002, 0.02)},
      .width_mm = {.value = test::uniform(rng, 0.05, 0.6), .u = test::uniform(rng, 0.002, 0.02)},
      .angle_rad = radians(test::uniform(rng, 30.0, 60.0))};
}

GrindPlan plan_for(const Land& land, Stage stage, std::optional<double> wanted_mm) {
  EdgeResult result;
  result.stage = stage;
  result.assumed_facet_angle_rad = land.angle_rad;
  for (int x = 0; x <= 40; ++x) {
    EdgeStation station;
    station.x_mm = x;
    station.centreline_offset_mm = land.offset_mm;
    station.land_width_mm = land.width_mm;
    result.stations.push_back(station);
  }
  return grind_plan(result, wanted_mm, {});
}

Remark advised(const Land& land, Stage stage, std::optional<double> wanted_mm) {
  const GrindPlan plan = plan_for(land, stage, wanted_mm);
  EXPECT_EQ(plan.zones.size(), 1U);
  return zone_remark(plan.zones.front(), plan.context);
}

// Centring takes 2 |c| off one border and leaves e - 2 |c|; lowered by d, the land is 2 d
// tan(angle) wider.
TEST(GrindingProperty, ACutIsTwiceTheOffsetAndItsLandIsTrue) {
  int cuts = 0, lowered = 0, refused = 0;
  for (int number = 0; number < 2000; ++number) {
    const Land land = random_land(number);
    const Remark remark = advised(land, Stage::ground, {});
    const double twice_mm = 2.0 * std::abs(land.offset_mm.value);
    const double left_mm = land.width_mm.value - twice_mm;
    const double left_U_mm = U95({.value = 0.0, .u = land.width_mm.u + 2.0 * land.offset_mm.u});
    if (std::abs(land.offset_mm.value) <= U95(land.offset_mm)) {
      EXPECT_EQ(remark.code, RemarkCode::leave_unresolved) << number;
      continue;
    }
    ASSERT_NEAR(number_of(remark, "by_mm").value_or(-1.0), twice_mm, kRounding_mm) << number;
    EXPECT_NEAR(*number_of(remark, "into_by_mm"), twice_mm * std::cos(land.angle_rad),
                kRounding_mm);
    EXPECT_NEAR(*number_of(remark, "land_mm"), left_mm, kRounding_mm);
    EXPECT_NEAR(*number_of(remark, "land_U95_mm"), left_U_mm, kRounding_mm);
    const bool some_left = left_mm > left_U_mm;
    EXPECT_EQ(remark.code,
              some_left ? RemarkCode::take_off_one : RemarkCode::lower_before_centring);
    const std::optional<double> lower_mm = number_of(remark, "lower_mm");
    EXPECT_EQ(lower_mm.has_value(), left_mm + left_U_mm < kUsualLand_mm) << number;
    if (lower_mm) {
      EXPECT_NEAR(left_mm + 2.0 * *lower_mm * std::tan(land.angle_rad), kUsualLand_mm, 1e-4);
      ++lowered;
    }
    ++(some_left ? cuts : refused);
  }
  EXPECT_GT(cuts, 300);
  EXPECT_GT(lowered, 300);
  EXPECT_GT(refused, 100);
}

// A bevelled edge is not lowered by a line of advice: its angle does not show from above.
TEST(GrindingProperty, ABevelledEdgeIsNeverToldADepth) {
  for (int number = 0; number < 500; ++number) {
    const Remark remark = advised(random_land(number), Stage::bevelled, 0.3);
    EXPECT_FALSE(number_of(remark, "lower_mm")) << number;
    EXPECT_FALSE(number_of(remark, "into_by_mm")) << number;
  }
}

// The borders after the advised cuts, wherever the photo resolves both needs.
TEST(GrindingProperty, BothCutsLeaveTheWantedLandInTheMiddle) {
  int both = 0;
  for (int number = 0; number < 2000; ++number) {
    const Land land = random_land(number);
    const Remark remark = advised(land, Stage::ground, 0.2);
    if (remark.code != RemarkCode::take_off_both) continue;
    const double half_mm = 0.5 * land.width_mm.value;
    EXPECT_NEAR(land.offset_mm.value + half_mm - *number_of(remark, "left_by_mm"), 0.1,
                kRounding_mm);
    EXPECT_NEAR(land.offset_mm.value - half_mm + *number_of(remark, "right_by_mm"), -0.1,
                kRounding_mm);
    ++both;
  }
  EXPECT_GT(both, 100);
}

Face other(Face face) { return face == Face::left ? Face::right : Face::left; }

Face face_of(const Remark& remark) {
  for (const NamedRemarkValue& value : remark.values) {
    if (value.name == "face") {
      return std::get<InUnits>(value.value).mm == "left" ? Face::left : Face::right;
    }
  }
  throw std::logic_error("names no face");
}

// The picture has the sentence and the ribbons in one view.
TEST(GrindingProperty, TheRibbonsSayWhatTheSentenceSays) {
  int centring = 0, lowering = 0, leaving = 0;
  for (int number = 0; number < 2000; ++number) {
    const GrindPlan plan = plan_for(random_land(number), Stage::ground, 0.3);
    const Zone& zone = plan.zones.front();
    const Remark advice = zone_remark(zone, plan.context);
    const auto ribbon = [&](Face face) { return face_remark(zone, face, plan.context); };
    const auto is_cut = [](const Remark& words) { return words.code == RemarkCode::ribbon_off; };
    switch (advice.code) {
      case RemarkCode::past_line_best_centre:
      case RemarkCode::land_short_off_centre: {
        const bool past = advice.code == RemarkCode::past_line_best_centre;
        const Face cut = past ? other(face_of(advice)) : face_of(advice);
        ASSERT_TRUE(is_cut(ribbon(cut))) << number;
        EXPECT_NEAR(*number_of(ribbon(cut), "by_mm"), *number_of(advice, "off_mm"), kRounding_mm);
        EXPECT_FALSE(is_cut(ribbon(other(cut)))) << number;
        EXPECT_EQ(face_standing(zone, cut, plan.context), Standing::outside);
        ++centring;
        break;
      }
      case RemarkCode::past_line_crossed:
      case RemarkCode::lower_before_centring:
        EXPECT_FALSE(is_cut(ribbon(Face::left)) || is_cut(ribbon(Face::right))) << number;
        ++lowering;
        break;
      case RemarkCode::past_line_centred:
      case RemarkCode::land_short_centred:
      case RemarkCode::leave_at_lines:
        EXPECT_FALSE(is_cut(ribbon(Face::left)) || is_cut(ribbon(Face::right))) << number;
        ++leaving;
        break;
      default:
        EXPECT_TRUE(is_cut(ribbon(Face::left)) || is_cut(ribbon(Face::right))) << number;
    }
  }
  EXPECT_GT(centring, 100);
  EXPECT_GT(lowering, 50);
  EXPECT_GT(leaving, 20);
}

// cos 60 = 1/2, tan 60 = sqrt 3 (elementary).
TEST(FacetsClosedForm, IntoTheFacetAndDownTheEdge) {
  const Measured steep{.value = radians(60.0)};
  EXPECT_NEAR(into_facet(0.1, steep), 0.05, 1e-12);
  const Facets facets{.left_rad = steep, .right_rad = steep};
  EXPECT_NEAR(edge_to_lower({.value = 0.1, .u = 0.02}, 0.3, facets).value, 0.1 / std::sqrt(3.0),
              1e-12);
  EXPECT_NEAR(edge_to_lower({.value = 0.1, .u = 0.02}, 0.3, facets).u, 0.01 / std::sqrt(3.0),
              1e-12);
}

// d(1 / tan a) / da by differences.
TEST(FacetsClosedForm, AnUncertainAngleMakesTheDepthUncertain) {
  const auto lower = [](double angle_rad, double u_rad) {
    const Measured angle{.value = angle_rad, .u = u_rad};
    return edge_to_lower({.value = 0.1}, 0.3, {.left_rad = angle, .right_rad = angle});
  };
  constexpr double kStep = 1e-5, kAngle = 0.7;
  const double slope =
      (lower(kAngle + kStep, 0.0).value - lower(kAngle - kStep, 0.0).value) / (2.0 * kStep);
  EXPECT_NEAR(lower(kAngle, 0.05).u, std::abs(slope) * 0.05, 1e-9);
}

}  // namespace
}  // namespace evenbevel
