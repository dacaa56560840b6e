#include <cmath>
#include <optional>

#include <gtest/gtest.h>

#include "evenbevel/edge_view.hpp"
#include "evenbevel/error.hpp"
#include "imaging.hpp"
#include "random_scene.hpp"
#include "render.hpp"
#include "scene.hpp"
#include "seeded.hpp"

namespace evenbevel::test {
namespace {

constexpr double kLean_rad = 0.03;  // Leans the flats' rims 0.04 mm aside of the land.

struct Clamped {
  EdgeScene scene;
  Photo photo;
  EdgeSettings settings;
};

/// A ground edge whose blade leans in the jaws; a number's blade is the same either way round.
Clamped leaning(int number, bool tip_left) {
  std::mt19937_64 rng = seeded("JawLean", number);
  Clamped out{.scene = random_edge_scene(SceneStage::ground, rng), .photo = {}, .settings = {}};
  out.scene.set_up.tip_left = tip_left;
  out.scene.set_up.jaw_tilt_rad = kLean_rad;
  out.scene.set_up.print_along = out.scene.set_up.print_across = 1.0;
  out.photo.pixels = take_picture(render_light(out.scene, {.cheap = true}), Imaging{}, rng);
  out.settings.thickness_mm = out.scene.blade.thickness_mm;
  out.settings.stage = Stage::ground;
  out.settings.tip = tip_left ? Tip::left : Tip::right;
  return out;
}

/// Of the direction from spine to edge (the blade's -z), toward the card's +y.
double lean_on_card_rad(const EdgeScene& scene) {
  const Eigen::Vector3d up =
      card_from_blade(scene.set_up).matrix.linear() * -Eigen::Vector3d::UnitZ();
  return std::atan2(up.y(), up.z());
}

std::optional<EdgeResult> read(const Clamped& clamped) {
  try {
    return edge_view(clamped.photo, clamped.scene.camera, clamped.settings);
  } catch (const Error&) {
    return std::nullopt;
  }
}

/// Of the mean offset.
double error_mm(const EdgeResult& result, const EdgeScene& scene) {
  double sum = 0.0, count = 0.0;
  for (const EdgeStation& station : result.stations) {
    if (!station.centreline_offset_mm) continue;
    sum += station.centreline_offset_mm->value - truth_nearest(scene, station.px).offset_mm;
    count += 1.0;
  }
  return sum / count;
}

// The mid-plane of a blade that leans passes beside the land by the facets' depth times the lean.
TEST(JawLeanProperty, TakenOutTheOffsetOfRandomScenesIsTheBlades) {
  int compared = 0;
  double squares_leaning = 0.0, squares_square = 0.0;
  for (int number = 2; number < 6; ++number) {
    for (const bool tip_left : {false, true}) {
      Clamped clamped = leaning(number, tip_left);
      const auto as_square = read(clamped);
      clamped.settings.jaw_lean_rad = lean_on_card_rad(clamped.scene);
      const auto as_leaning = read(clamped);
      if (!as_square || !as_leaning) continue;
      ++compared;
      const double off = error_mm(*as_leaning, clamped.scene);
      EXPECT_LT(std::abs(off), U95(*as_leaning->centreline_offset_mm)) << number << ' ' << tip_left;
      squares_leaning += off * off;
      squares_square += std::pow(error_mm(*as_square, clamped.scene), 2);
    }
  }
  EXPECT_GE(compared, 4);
  EXPECT_LT(squares_leaning, 0.25 * squares_square);
}

TEST(JawLeanProperty, AMeasuredLeanNarrowsTheInterval) {
  Clamped clamped = leaning(5, false);
  clamped.settings.jaw_lean_rad = lean_on_card_rad(clamped.scene);
  const auto assumed = read(clamped);
  clamped.settings.jaw_squareness_u_rad = 0.0005;
  const auto measured = read(clamped);
  ASSERT_TRUE(assumed && measured && measured->centreline_offset_mm);
  EXPECT_LT(measured->centreline_offset_mm->u, assumed->centreline_offset_mm->u);
}

}  // namespace
}  // namespace evenbevel::test
