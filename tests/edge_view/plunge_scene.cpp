#include "plunge_scene.hpp"

#include <algorithm>
#include <cmath>

#include <opencv2/imgproc.hpp>

#include "evenbevel/uncertainty.hpp"
#include "imaging.hpp"
#include "render.hpp"
#include "seeded.hpp"

namespace evenbevel::test {
namespace {

/// Keeps the pixels about the plunge lines: the rest of the picture says nothing of them.
void cut_out(EdgeScene& scene, double at_mm) {
  const Eigen::Vector2d middle = truth_at(scene, at_mm).middle_px;
  constexpr int kWidth = 560, kHeight = 140;
  const double left = std::round(middle.x() - 0.5 * kWidth);
  const double top = std::round(middle.y() - 0.5 * kHeight);
  scene.camera.centre_px.x() -= left, scene.camera.centre_px.y() -= top;
  scene.camera.width_px = kWidth, scene.camera.height_px = kHeight;
}

}  // namespace

edge::StripFrame PlungeScene::frame() const {
  return {scene.camera, scene.set_up.T_camera_card,
          edge::HeightProfile(scene.set_up.edge_height_mm(0.0)), scene.set_up.in_plane_rad};
}

double PlungeScene::truth_mm() const {
  return scene.blade.left.plunge.x_mm - scene.blade.right.plunge.x_mm;
}

PlungeScene plunge_scene(EdgeScene scene, const Imaging& imaging, std::mt19937_64& rng,
                         const PlungeBefore& before) {
  cut_out(scene, before.aside_mm);
  PlungeScene out{scene,
                  take_picture(render_light(scene, {.cheap = true}), imaging, rng),
                  std::hypot(imaging.blur_px, std::sqrt(1.0 / 12.0)),
                  {},
                  {}};
  const edge::StripFrame frame = out.frame();
  const int tip = scene.set_up.tip_left ? -1 : 1;
  const double half = 0.5 * scene.blade.thickness_mm;
  const auto line = [&](double y_mm) {
    const auto at = [&](double x) {
      return frame.at(pixel_of(scene, {{x, y_mm, cross_section(scene, x).edge_z_mm}}));
    };
    const Eigen::Vector2d a = at(-12.0), b = at(12.0);
    const double slope = (b.y() - a.y()) / (b.x() - a.x());
    return edge::StripLine{a.y() - slope * a.x() + before.border_mm * normal(rng), slope};
  };
  out.flats.high = line(tip * half), out.flats.low = line(-tip * half);
  double clear = -6.0;
  while (!clear_of_plunges(scene, clear)) clear += 0.05;
  const double from = clear + uniform(rng, -before.end_mm, before.end_mm);
  const double off_high = before.border_mm * normal(rng), off_low = before.border_mm * normal(rng);
  for (double x = from; x < from + 14.0; x += 0.5) {
    const StationTruth truth = truth_at(scene, x);
    const Eigen::Vector2d high = frame.at(tip > 0 ? truth.left_px : truth.right_px);
    const Eigen::Vector2d low = frame.at(tip > 0 ? truth.right_px : truth.left_px);
    out.land.places.push_back({0.5 * (high.x() + low.x()), low.y() + off_low, high.y() + off_high});
  }
  if (tip < 0) std::reverse(out.land.places.begin(), out.land.places.end());
  return out;
}

std::optional<PlungeReading> read_plunges(const PlungeScene& scene) {
  const edge::LaneImage image = edge::lane_image(scene.picture, cv::Rect({}, scene.picture.size()));
  const int tip = scene.scene.set_up.tip_left ? -1 : 1;
  const bool bevelled = scene.scene.blade.stage == SceneStage::bevelled;
  const edge::PlungeLines lines =
      edge::find_plunges(image, scene.frame(), scene.flats, scene.land,
                         bevelled ? Stage::bevelled : Stage::ground, -tip, scene.blur_px);
  if (!lines.high || !lines.low) return std::nullopt;
  // s runs along the card, t toward its -y; high is the left face when the tip points along +x,
  // else the right one, and x runs against s: the difference keeps its sign.
  const double mismatch = lines.high->s_mm() - lines.low->s_mm();
  return PlungeReading{mismatch - scene.truth_mm(),
                       U95({mismatch, std::hypot(lines.high->u_mm, lines.low->u_mm)})};
}

}  // namespace evenbevel::test
