#include <algorithm>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "evenbevel/live_view.hpp"

namespace evenbevel {
namespace {

using testing::HasSubstr;

/// A look in which all is well: straight over the lane, near, sharp.
LiveLook good_look() {
  LiveLook look;
  FoundCard card;
  card.softness_px = 0.9;
  card.corners.resize(90);
  look.card = card;
  look.placed = true;
  look.seen = 0.9;
  look.distance_mm = 200.0;
  look.px_per_mm = 8.0;
  return look;
}

LiveCheck check_of(const std::vector<LiveCheck>& checks, const std::string& name) {
  const auto found = std::ranges::find(checks, name, &LiveCheck::name);
  return found == checks.end() ? LiveCheck{"none", false, {}, {}} : *found;
}

TEST(LiveChecksClosedForm, AGoodLookIsAllWell) {
  const std::vector<LiveCheck> checks = live_checks(good_look(), {}, {});
  EXPECT_TRUE(all_well(checks));
  for (const LiveCheck& check : checks) EXPECT_EQ(check.todo.mm, "") << check.name;
}

// Edge up and tip to the right of an upright card, the left face is toward -y of the card.
TEST(LiveChecksClosedForm, TheWayToMoveIsTowardTheFaceThatTheCameraIsAwayFrom) {
  LiveLook look = good_look();
  look.aside_mm.y() = -12.0;
  const auto todo = [&](const LiveBlade& blade) {
    return check_of(live_checks(look, {}, blade), "camera").todo.mm;
  };
  EXPECT_THAT(todo({}), HasSubstr("12 mm toward the card's upper edge"));
  EXPECT_THAT(todo({.tip = Tip::right}), HasSubstr("12 mm toward the right face"));
  EXPECT_THAT(todo({.tip = Tip::left}), HasSubstr("12 mm toward the left face"));
  // Measured on the blade itself, that goes before the lane, and follows the camera.
  EXPECT_THAT(todo({.tip = Tip::right, .lateral_mm = -9.0, .up_mm = -12.0}),
              HasSubstr("9 mm toward the left face"));
  EXPECT_THAT(todo({.tip = Tip::right, .lateral_mm = 9.0, .up_mm = -9.0}),
              HasSubstr("12 mm toward the right face"));
  look.aside_mm.y() = 3.0;
  EXPECT_TRUE(check_of(live_checks(look, {}, {}), "camera").well);
}

TEST(LiveChecksClosedForm, EachFaultIsNamedWithItsRemedy) {
  LiveLook look = good_look();
  look.px_per_mm = 4.0;
  look.distance_mm = 300.0;
  // A third nearer, where 6 px a mm are wanted.
  EXPECT_THAT(check_of(live_checks(look, {}, {}), "distance").todo.mm, HasSubstr("100 mm nearer"));
  look = good_look();
  look.card->softness_px = 3.0;
  EXPECT_THAT(check_of(live_checks(look, {}, {}), "focus").todo.mm, HasSubstr("focus"));
  look = good_look();
  look.glare = 0.2;
  EXPECT_THAT(check_of(live_checks(look, {}, {}), "glare").words.mm, HasSubstr("20 %"));
  EXPECT_FALSE(all_well(live_checks(look, {}, {})));
  look = good_look();
  look.aside_mm.x() = 80.0;
  EXPECT_THAT(check_of(live_checks(look, {}, {}), "camera").todo.mm, HasSubstr("left end"));
}

TEST(LiveChecksBadInput, WithoutTheCardThereIsOneThingToDo) {
  const std::vector<LiveCheck> none = live_checks({}, {}, {});
  ASSERT_EQ(none.size(), 1U);
  EXPECT_THAT(none.front().todo.mm, HasSubstr("show the edge card"));
  LiveLook other;
  other.other = CardKind::side;
  EXPECT_THAT(live_checks(other, {}, {}).front().words.mm, HasSubstr("side card"));
  LiveLook bent = good_look();
  bent.placed = false;
  EXPECT_FALSE(all_well(live_checks(bent, {}, {})));
}

}  // namespace
}  // namespace evenbevel
