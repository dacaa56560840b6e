#include "advice/aim.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <vector>

#include <gtest/gtest.h>

#include "advice/facets.hpp"
#include "seeded.hpp"

namespace evenbevel {
namespace {

constexpr int kProfiles = 500;
constexpr double kGridMm = 0.001;
constexpr int kGridSteps = 250;  // Either side of the middle: beyond any border drawn here.

struct Profile {
  std::vector<LandBorders> steel;
  double wanted_mm = 0.0;
  double tan_facet = 1.0;
};

/// A land that wanders along the blade, wide or narrow, in the middle or far off it.
Profile random_profile(int number) {
  std::mt19937_64 rng = test::seeded("LandAim", number);
  Profile profile{.steel = {},
                  .wanted_mm = test::uniform(rng, 0.02, 0.22),
                  .tan_facet = std::tan(test::uniform(rng, 30.0, 60.0) * std::numbers::pi / 180.0)};
  const double width_mm = test::uniform(rng, 0.02, 0.22);
  const double offset_mm = test::uniform(rng, -0.06, 0.06);
  const double swing_mm = test::uniform(rng, 0.0, 0.04);
  const double wave = test::uniform(rng, 0.0, 2.0);
  for (int i = 0; i < 12; ++i) {
    const double centre_mm =
        offset_mm + swing_mm * std::sin(wave * i) + test::uniform(rng, -0.004, 0.004);
    const double half_mm = 0.5 * width_mm + test::uniform(rng, 0.0, 0.004);
    profile.steel.push_back({.left_mm = centre_mm + half_mm, .right_mm = centre_mm - half_mm});
  }
  return profile;
}

bool left_has_steel(const Profile& profile, double left_mm, double lowered_mm) {
  return std::all_of(profile.steel.begin(), profile.steel.end(), [&](const LandBorders& here) {
    return left_mm <= here.left_mm + lowered_mm * profile.tan_facet + 1e-12;
  });
}

bool right_has_steel(const Profile& profile, double right_mm, double lowered_mm) {
  return std::all_of(profile.steel.begin(), profile.steel.end(), [&](const LandBorders& here) {
    return right_mm >= here.right_mm - lowered_mm * profile.tan_facet - 1e-12;
  });
}

/// Tries every pair of borders on the grid.
std::optional<LandAim> best_on_grid(const Profile& profile) {
  std::vector<int> lefts, rights;
  for (int i = -kGridSteps; i <= kGridSteps; ++i) {
    if (left_has_steel(profile, i * kGridMm, 0.0)) lefts.push_back(i);
    if (right_has_steel(profile, i * kGridMm, 0.0)) rights.push_back(i);
  }
  std::optional<LandAim> best;
  int least_off_centre = 0;
  double least_off_width = 0.0;
  for (const int left : lefts) {
    for (const int right : rights) {
      if (left < right) break;
      const int off_centre = std::abs(left + right);
      const double off_width = std::abs((left - right) * kGridMm - profile.wanted_mm);
      const bool better = off_centre < least_off_centre ||
                          (off_centre == least_off_centre && off_width < least_off_width);
      if (best && !better) continue;
      best = LandAim{.left_mm = left * kGridMm, .right_mm = right * kGridMm};
      least_off_centre = off_centre;
      least_off_width = off_width;
    }
  }
  return best;
}

TEST(LandAimProperty, TheCentredLandIsTheBestOfAllThatTheSteelAllows) {
  int centred = 0, crossed = 0, none = 0;
  for (int number = 0; number < kProfiles; ++number) {
    const Profile profile = random_profile(number);
    const std::optional<LandAim> aim = centred_land(profile.steel, profile.wanted_mm);
    const std::optional<LandAim> tried = best_on_grid(profile);
    if (!tried) {  // At most one step of the grid is left between the borders.
      EXPECT_TRUE(!aim || aim->width_mm() < kGridMm) << number;
      ++none;
      continue;
    }
    ASSERT_TRUE(aim) << number;
    EXPECT_TRUE(left_has_steel(profile, aim->left_mm, 0.0)) << number;
    EXPECT_TRUE(right_has_steel(profile, aim->right_mm, 0.0)) << number;
    EXPECT_NEAR(std::abs(aim->centre_mm()), std::abs(tried->centre_mm()), kGridMm) << number;
    EXPECT_NEAR(aim->left_mm, tried->left_mm, kGridMm) << number;
    EXPECT_NEAR(aim->right_mm, tried->right_mm, kGridMm) << number;
    ++(std::abs(tried->centre_mm()) < kGridMm ? centred : crossed);
  }
  EXPECT_GT(centred, 30);
  EXPECT_GT(crossed, 30);
  EXPECT_GT(none, 30);
}

TEST(LandAimProperty, TheEdgeIsLoweredNoMoreThanTheWantedLandTakes) {
  int lowered = 0;
  for (int number = 0; number < kProfiles; ++number) {
    const Profile profile = random_profile(number);
    const Measured angle_rad{.value = std::atan(profile.tan_facet)};
    const Measured widest{.value = widest_centred_mm(profile.steel)};
    const double lower_mm =
        edge_to_lower(widest, profile.wanted_mm, {.left_rad = angle_rad, .right_rad = angle_rad})
            .value;
    const double half_mm = 0.5 * profile.wanted_mm;
    double least_mm = 0.0;
    while (!left_has_steel(profile, half_mm, least_mm) ||
           !right_has_steel(profile, -half_mm, least_mm)) {
      least_mm += 0.5 * kGridMm;
    }
    EXPECT_NEAR(std::max(0.0, lower_mm), least_mm, kGridMm) << number;
    if (least_mm > 0.0) ++lowered;
  }
  EXPECT_GT(lowered, 50);
  EXPECT_LT(lowered, kProfiles - 50);
}

}  // namespace
}  // namespace evenbevel
