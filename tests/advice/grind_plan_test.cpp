#include <gtest/gtest.h>

#include "advice/grinding.hpp"

namespace evenbevel {
namespace {

/// A land 0.30 wide that stands 0.04 toward the left face: borders at +0.19 and -0.11.
EdgeResult off_centre() {
  EdgeResult result;
  result.stage = Stage::ground;
  for (int x = 0; x <= 100; ++x) {
    EdgeStation station;
    station.x_mm = x;
    station.centreline_offset_mm = Measured{.value = 0.04, .u = 0.001};
    station.land_width_mm = Measured{.value = 0.30, .u = 0.001};
    result.stations.push_back(station);
  }
  return result;
}

std::string words(const GrindPlan& plan, Face face) {
  return sentence(face_remark(plan.zones.front(), face, plan.context), LengthUnit::mm);
}

// Lines at +-0.10: 0.09 and 0.01 to lose. At +-0.15 the right face is 0.04 past its line: the
// widest land in the middle ends at +-0.11, which takes 0.08 off the left one.
TEST(GrindPlanClosedForm, EachFaceIsToldWhatComesOffIt) {
  const GrindPlan narrow = grind_plan(off_centre(), 0.20, {});
  ASSERT_EQ(narrow.zones.size(), 1U);
  EXPECT_EQ(words(narrow, Face::left), "off 0.090 mm");
  EXPECT_EQ(words(narrow, Face::right), "off 0.010 mm");
  const GrindPlan wide = grind_plan(off_centre(), 0.30, {});
  ASSERT_EQ(wide.zones.size(), 1U);
  EXPECT_EQ(words(wide, Face::left), "off 0.080 mm");
  EXPECT_EQ(words(wide, Face::right), "0.040 mm past its line");
}

TEST(GrindPlanClosedForm, WithinTheToleranceBothFacesAreLeft) {
  const GrindPlan plan = grind_plan(off_centre(), {}, 0.05);
  ASSERT_EQ(plan.zones.size(), 1U);
  EXPECT_EQ(words(plan, Face::left), "leave");
  EXPECT_EQ(words(plan, Face::right), "leave");
}

TEST(GrindPlanBadInput, NothingIsPlannedFromAnOffsetThatWasNotMeasured) {
  EdgeResult result = off_centre();
  for (EdgeStation& station : result.stations) station.centreline_offset_mm.reset();
  EXPECT_TRUE(grind_plan(result, 0.20, {}).zones.empty());
}

}  // namespace
}  // namespace evenbevel
