#include <cmath>
#include <cstdlib>
#include <iostream>
#include <vector>

#include <gtest/gtest.h>

#include "evenbevel/error.hpp"
#include "evenbevel/side_view.hpp"
#include "seeded.hpp"
#include "side_scene.hpp"

namespace evenbevel::test {
namespace {

SideBlade random_blade(std::mt19937_64& rng) {
  SideBlade blade;
  blade.thickness_mm = uniform(rng, 2.2, 4.5);
  const bool tapered = uniform(rng, 0.0, 1.0) < 0.4;
  blade.tip_thickness_mm = blade.thickness_mm * (tapered ? uniform(rng, 0.5, 0.9) : 1.0);
  blade.land_mm = uniform(rng, 0.15, 0.6);
  blade.height_mm = uniform(rng, 26.0, 40.0);
  blade.tip_x_mm = uniform(rng, 90.0, 125.0);
  blade.belly_x_mm = uniform(rng, 0.35, 0.7) * blade.tip_x_mm;
  blade.left.bevel_mm = blade.height_mm * uniform(rng, 0.45, 0.75);
  blade.left.plunge_lean_rad = uniform(rng, 0.0, 0.3);
  blade.left.plunge_radius_mm = uniform(rng, 3.0, 7.0);
  blade.right = blade.left;
  blade.right.bevel_mm += uniform(rng, -0.8, 0.8);
  blade.right.bevel_slope = uniform(rng, -0.005, 0.005);
  blade.left.plunge_x_mm = uniform(rng, -0.6, 0.6);
  blade.right.plunge_x_mm = uniform(rng, -0.6, 0.6);
  return blade;
}

SideLook random_look(std::mt19937_64& rng) {
  SideLook look;
  look.flat = uniform(rng, 0.25, 0.5);
  // May be brighter at one end and darker at the other.
  look.bevel_at_plunge = look.flat * uniform(rng, 0.7, 1.4);
  look.bevel_at_tip = look.flat * uniform(rng, 0.7, 1.4);
  look.ramp =
      look.flat * (uniform(rng, 0.0, 1.0) < 0.5 ? uniform(rng, 0.5, 0.8) : uniform(rng, 1.25, 1.8));
  look.texture = uniform(rng, 0.06, 0.15);
  look.light_slope = uniform(rng, -0.3, 0.3);
  look.shadow = uniform(rng, 0.0, 0.6);
  look.colour = uniform(rng, 0.0, 1.0) < 0.7;
  look.seed = static_cast<unsigned>(rng());
  return look;
}

SidePose random_pose(std::mt19937_64& rng) {
  SidePose pose;
  pose.card_x_mm = uniform(rng, -12.0, 12.0), pose.card_y_mm = uniform(rng, -8.0, 8.0);
  pose.turn_rad = uniform(rng, -0.05, 0.05);
  pose.distance_mm = uniform(rng, 300.0, 330.0);
  pose.tilt_x_rad = uniform(rng, -0.05, 0.05), pose.tilt_y_rad = uniform(rng, -0.05, 0.05);
  pose.roll_rad = uniform(rng, -0.05, 0.05);
  pose.aside_x_mm = uniform(rng, -15.0, 15.0), pose.aside_y_mm = uniform(rng, -15.0, 15.0);
  return pose;
}

Imaging random_imaging_of_side(std::mt19937_64& rng) {
  Imaging imaging;
  imaging.blur_px = uniform(rng, 0.6, 1.3);
  imaging.read_noise = uniform(rng, 0.001, 0.004);
  imaging.shot_noise = uniform(rng, 0.003, 0.01);
  imaging.sharpen = uniform(rng, 0.0, 0.6);
  if (uniform(rng, 0.0, 1.0) < 0.6) imaging.jpeg = static_cast<int>(uniform(rng, 80.0, 96.0));
  return imaging;
}

/// How errors and stated intervals of one quantity went.
struct Tally {
  int count = 0, held = 0;
  double squares = 0.0, worst = 0.0;

  void add(double error, double expanded) {
    ++count;
    squares += error * error;
    worst = std::max(worst, std::abs(error));
    if (std::abs(error) <= expanded) ++held;
  }
  double rms() const { return count == 0 ? 0.0 : std::sqrt(squares / count); }
  double share() const { return count == 0 ? 1.0 : static_cast<double>(held) / count; }
};

struct Tallies {
  Tally height, difference, plunge, mismatch, angle, radius, shift;
  int stations = 0, covered = 0, refused = 0;
};

std::optional<SideResult> measured(const SideBlade& blade, std::mt19937_64& rng) {
  const auto take = [&](Face face) {
    const SideLook look = random_look(rng);
    const SidePose pose = random_pose(rng);
    const Imaging imaging = random_imaging_of_side(rng);
    return take_side_picture(&blade, face, look, pose, imaging, rng);
  };
  const SidePicture left = take(Face::left), right = take(Face::right);
  const std::vector<FacePhoto> photos = {{Face::left, &left.photo, &left.camera},
                                         {Face::right, &right.photo, &right.camera}};
  SideSettings settings;
  settings.thickness_mm = blade.thickness_mm;
  if (blade.tip_thickness_mm < blade.thickness_mm)
    settings.tip_thickness_mm = blade.tip_thickness_mm;
  settings.land_mm = blade.land_mm;
  return side_view(photos, settings);
}

void compare(const SideBlade& blade, const SideResult& result, Tallies& tallies) {
  const double z = result.plunge_z_mm;
  const double middle = 0.5 * (blade.crease_x(Face::left, z) + blade.crease_x(Face::right, z));
  const double zero = result.x_from_plunge ? middle : blade.handle_x_mm;
  for (const SideStation& station : result.stations) {
    const double x = station.x_mm + zero;
    if (x > blade.tip_x_mm - 1.0) continue;
    const double edge = blade.edge_z(x);
    for (const Face face : {Face::left, Face::right}) {
      const double height = blade.bevel_z(face, x) - edge;
      if (x < blade.crease_x(face, blade.bevel_z(face, 0.0) - 0.05)) continue;
      ++tallies.stations;
      const FaceStation& own = face == Face::left ? station.left : station.right;
      if (!own.bevel_height_mm) continue;
      ++tallies.covered;
      tallies.height.add(own.bevel_height_mm->value - height, U95(*own.bevel_height_mm));
    }
    if (station.bevel_height_difference_mm) {
      const double truth = blade.bevel_z(Face::left, x) - blade.bevel_z(Face::right, x);
      tallies.difference.add(station.bevel_height_difference_mm->value - truth,
                             U95(*station.bevel_height_difference_mm));
    }
  }
  const double mismatch = blade.crease_x(Face::left, z) - blade.crease_x(Face::right, z);
  if (result.plunge_mismatch_mm)
    tallies.mismatch.add(result.plunge_mismatch_mm->value - mismatch,
                         U95(*result.plunge_mismatch_mm));
  const auto angle = [&](const std::optional<Measured>& value, double truth) {
    if (value) tallies.angle.add(value->value - truth, U95(*value));
  };
  angle(result.plunge_angle_left_rad, blade.left.plunge_lean_rad);
  angle(result.plunge_angle_right_rad, blade.right.plunge_lean_rad);
  const auto radius = [&](const std::optional<Measured>& value, double truth) {
    if (value) tallies.radius.add(value->value - truth, U95(*value));
  };
  radius(result.plunge_radius_left_mm, blade.left.plunge_radius_mm);
  radius(result.plunge_radius_right_mm, blade.right.plunge_radius_mm);
}

Tallies run(int first, int count) {
  Tallies tallies;
  for (int scene = first; scene < first + count; ++scene) {
    std::mt19937_64 rng = seeded("SideView", scene);
    const SideBlade blade = random_blade(rng);
    try {
      const std::optional<SideResult> result = measured(blade, rng);
      compare(blade, *result, tallies);
    } catch (const Error& e) {
      ++tallies.refused;
      std::cout << "scene " << scene << ": " << e.what() << '\n';
    }
  }
  const auto print = [](const char* name, const Tally& t) {
    std::cout << name << ": " << t.count << " rms " << t.rms() << " worst " << t.worst << " held "
              << t.share() << '\n';
  };
  print("bevel height", tallies.height), print("difference", tallies.difference);
  print("mismatch", tallies.mismatch), print("angle", tallies.angle);
  print("radius", tallies.radius);
  std::cout << "covered " << tallies.covered << " of " << tallies.stations << ", refused "
            << tallies.refused << '\n';
  return tallies;
}

int scenes() {
  const char* asked = std::getenv("EVENBEVEL_SIDE_SCENES");
  return asked == nullptr ? 3 : std::atoi(asked);
}

int first_scene() {
  const char* asked = std::getenv("EVENBEVEL_SIDE_FIRST");
  return asked == nullptr ? 0 : std::atoi(asked);
}

// RMS 0.10 mm is wanted and not reached: where the bevel is only a few mm high, toward the tip,
// another border may be taken for its line.
// More scenes: EVENBEVEL_SIDE_SCENES=100.
TEST(SideOfRandomScenes, ErrorsStayWithinTheirIntervals) {
  const Tallies tallies = run(first_scene(), scenes());
  EXPECT_EQ(tallies.refused, 0);
  EXPECT_LT(tallies.height.rms(), 0.20);
  EXPECT_GT(tallies.height.share(), 0.90);
  EXPECT_GT(tallies.difference.share(), 0.90);
  EXPECT_GT(tallies.mismatch.count, 0);
  EXPECT_GT(tallies.angle.count, 0);
  EXPECT_EQ(tallies.mismatch.held, tallies.mismatch.count);
  EXPECT_EQ(tallies.angle.held, tallies.angle.count);
  EXPECT_LT(tallies.angle.rms(), 0.0175);  // a degree
  EXPECT_GT(tallies.covered, 0.85 * tallies.stations);
}

}  // namespace
}  // namespace evenbevel::test
