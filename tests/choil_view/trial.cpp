#include "trial.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "evenbevel/error.hpp"
#include "evenbevel/units.hpp"
#include "seeded.hpp"

namespace evenbevel::test {
namespace {

/// Angle of the straight line through a side, every depth counting alike, to the mid-plane.
double true_angle_rad(const SectionShape& section, Face face, double from_mm, double to_mm) {
  double n = 0, sx = 0, sy = 0, sxx = 0, sxy = 0;
  for (double depth = from_mm; depth <= to_mm; depth += 0.05) {
    const double y = face == Face::left ? section.left_at(depth) : section.right_at(depth);
    n += 1;
    sx += depth;
    sy += y;
    sxx += depth * depth;
    sxy += depth * y;
  }
  return std::atan((n * sxy - sx * sy) / (n * sxx - sx * sx));
}

void compare_side(ChoilTrial& trial, const ChoilScene& scene, const ChoilResult& result,
                  Face face) {
  const SectionSide& side = face == Face::left ? result.left : result.right;
  const BevelSide& made = face == Face::left ? scene.section.left : scene.section.right;
  if (side.angle_rad) {
    const double truth =
        true_angle_rad(scene.section, face, result.range_from_mm, result.range_to_mm);
    trial.readings.push_back({"angle", (side.angle_rad->value - truth) * 180.0 / kPi,
                              U95(*side.angle_rad) * 180.0 / kPi});
  }
  if (!side.bow_mm) return;
  const SideShape truth = made.hollow_mm   ? SideShape::hollow
                          : made.convex_mm ? SideShape::convex
                                           : SideShape::flat;
  const bool curved = side.shape == SideShape::hollow || side.shape == SideShape::convex;
  if (curved && side.shape != truth) ++trial.wrong_shapes;
  const double bend =
      made.hollow_mm ? -1.0 / *made.hollow_mm : (made.convex_mm ? 1.0 / *made.convex_mm : 0.0);
  const double length =
      side.angle_rad ? (result.range_to_mm - result.range_from_mm) / std::cos(side.angle_rad->value)
                     : 0.0;
  trial.readings.push_back(
      {"bow", side.bow_mm->value - bend * length * length / 8.0, U95(*side.bow_mm)});
  if (!side.hollow_radius_mm || !made.hollow_mm) return;
  ++trial.radii;
  const bool low = *side.hollow_radius_low_mm <= *made.hollow_mm;
  const bool high = !side.hollow_radius_high_mm || *made.hollow_mm <= *side.hollow_radius_high_mm;
  if (low && high) ++trial.radii_held;
}

}  // namespace

void compare(ChoilTrial& trial, const ChoilScene& scene, const ChoilResult& result) {
  const SectionShape& section = scene.section;
  const auto add = [&](const std::string& what, const std::optional<Measured>& read, double truth) {
    if (read) trial.readings.push_back({what, read->value - truth, U95(*read)});
  };
  for (const ChoilDepth& at : result.depths) {
    const double l = section.left_at(at.depth_mm), r = section.right_at(at.depth_mm);
    add(at.depth_mm < 0.9 ? "thickness near" : "thickness", at.thickness_mm, l + r);
    add("half", at.half_left_mm, l);
    add("half", at.half_right_mm, r);
    add("asymmetry", at.asymmetry_mm, l - r);
  }
  add("edge", result.edge_thickness_mm,
      section.left_at(result.edge_depth_mm) + section.right_at(result.edge_depth_mm));
  add("stock", result.stock_thickness_mm, section.thickness_mm);
  if (result.included_angle_rad) {
    const double truth =
        true_angle_rad(section, Face::left, result.range_from_mm, result.range_to_mm) +
        true_angle_rad(section, Face::right, result.range_from_mm, result.range_to_mm);
    trial.readings.push_back({"included", (result.included_angle_rad->value - truth) * 180.0 / kPi,
                              U95(*result.included_angle_rad) * 180.0 / kPi});
  }
  compare_side(trial, scene, result, Face::left);
  compare_side(trial, scene, result, Face::right);
}

int false_readings(const ChoilTrial& trial) {
  constexpr double kBeyond = 1.3;  // Of 1,000 normal errors, 11 lie further out.
  return static_cast<int>(std::count_if(
      trial.readings.begin(), trial.readings.end(),
      [](const Reading& reading) { return std::abs(reading.error) > kBeyond * reading.U95; }));
}

ChoilPicture choil_picture(int number, ChoilLight light) {
  const bool adverse = light == ChoilLight::adverse;
  std::mt19937_64 rng = seeded(adverse ? "ChoilAdverse" : "ChoilView", number);
  ChoilPicture out{.random = adverse ? adverse_choil_scene(rng) : random_choil_scene(rng)};
  out.random.imaging.phone.reset();  // These scenes are grey: they have no colour mosaic.
  out.photo.name = "choil scene";
  out.photo.pixels = take_picture(render_choil(out.random.scene), out.random.imaging, rng);
  return out;
}

ChoilTrial run_choil_trial(int number, ChoilLight light) {
  ChoilTrial trial;
  trial.number = number;
  ChoilPicture picture = choil_picture(number, light);
  trial.random = std::move(picture.random);
  try {
    trial.result = choil_view(picture.photo, trial.random.scene.camera, {});
    compare(trial, trial.random.scene, *trial.result);
  } catch (const Error& e) {
    trial.refused = e.what();
  }
  return trial;
}

}  // namespace evenbevel::test
