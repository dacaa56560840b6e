// Light and shade of the rendered scenes, against closed forms.

#include <cmath>

#include <gtest/gtest.h>

#include "caster.hpp"
#include "evenbevel/units.hpp"
#include "random_scene.hpp"
#include "render.hpp"
#include "seeded.hpp"
#include "shading.hpp"

namespace evenbevel::test {
namespace {

/// One lamp so far away that its rays are parallel, and nothing else that sends light.
Lighting far_lamp(const Eigen::Vector3d& toward) {
  Lighting lighting;
  lighting.kind = LightKind::bulb;
  lighting.around = {grey_paint(0.0), grey_paint(0.0), 0.0};
  constexpr double kFar = 1e5;
  lighting.glows = {{kFar * toward.normalized(), 1.0, grey_paint(kFar * kFar / 1e6)}};
  return lighting;
}

EdgeScene lit_scene(SceneStage stage, const Lighting& lighting) {
  EdgeScene scene;
  scene.blade.stage = stage;
  scene.set_up.T_camera_card = looking_at({0.0, 0.0, 0.0}, {0.0, 0.0, 204.0}, 0.0);
  scene.camera.width_px = 1200;
  scene.camera.height_px = 400;
  scene.camera.focal_px.setConstant(3000.0);
  scene.camera.centre_px = {599.5, 199.5};
  scene.lighting = lighting;
  scene.paints.jaw = grey_paint(0.0);
  return scene;
}

constexpr Sheen kMatt{.even = 1.0};

// Lambert's law: a matt facet is as bright as the cosine between its normal and the lamp. The left
// face lies toward -y of the card.
TEST(LightingClosedForm, TwoMattFacetsUnderALampOnOneSideFollowTheCosine) {
  const double elevation = radians(60.0);
  EdgeScene scene =
      lit_scene(SceneStage::ground, far_lamp({0.0, -std::cos(elevation), std::sin(elevation)}));
  scene.finishes.facet = kMatt;
  scene.paints.facet_left = scene.paints.facet_right = grey_paint(0.5);
  const cv::Mat light = render_light(scene).pixels;
  const auto level_at = [&](double y_mm, double z_mm) {
    const Eigen::Vector2d q = pixel_of(scene, {{40.0, y_mm, z_mm}});
    return light.at<cv::Vec3f>(static_cast<int>(std::lround(q.y())),
                               static_cast<int>(std::lround(q.x())))[1];
  };
  const double angle = scene.blade.left.angle_rad;  // of the facet, from the mid-plane
  const double deep = 0.8;
  const double border = 0.5 * scene.blade.land_width_mm(40.0);
  const double z = deep / std::tan(angle);
  EXPECT_NEAR(level_at(border + deep, z), 0.5 * std::cos(angle - elevation), 1e-4);
  EXPECT_NEAR(level_at(-border - deep, z), -0.5 * std::cos(angle + elevation), 1e-4);
}

// The law of reflection: the highlight lies where lamp and camera are seen at the same angle from
// the face's normal, at (x_c h_l + x_l h_c) / (h_c + h_l).
TEST(LightingClosedForm, TheHighlightOnTheFaceLiesAtTheMirrorsPoint) {
  Lighting lighting;
  lighting.around = {grey_paint(0.0), grey_paint(0.0), 0.0};
  lighting.glows = {{{180.0, 0.0, 604.0}, 1.0, grey_paint(1.0)}};
  EdgeScene scene = lit_scene(SceneStage::scribed_bare, lighting);
  scene.finishes.face = {.even = 0.0, .along = 0.02, .across = 0.3};
  const double on_card = (0.0 * 600.0 + 180.0 * 200.0) / (600.0 + 200.0);  // edge 4 mm high
  const double wanted = on_card - scene.set_up.card_x_mm;
  double best = 0.0, brightest = 0.0;
  for (double x = 0.0; x < 90.0; x += 0.25) {
    const double level = steel_level(scene, Surface::face, x).mean();
    if (level > brightest) {
      brightest = level;
      best = x;
    }
  }
  EXPECT_NEAR(best, wanted, 0.3);
  // Half vectors turn by (1/h_c + 1/h_l) / 2 rad per mm: after 10 mm the lobe has fallen to
  // exp(-(0.0333 / 0.02)^2) of its height, all else being alike within 2 %.
  const double aside = steel_level(scene, Surface::face, wanted + 10.0).mean() / brightest;
  const double cosine = 200.0 / std::hypot(200.0, 45.0);
  const double tilt = 10.0 * 0.5 * (1.0 / 200.0 + 1.0 / 600.0) * cosine * cosine / 0.02;
  EXPECT_NEAR(aside, std::exp(-tilt * tilt), 0.02);
}

// Scratches across the facet leave its lobe wide along the blade; those along the face leave the
// face's lobe wide across it. Both by Gaussians of the given spreads.
TEST(LightingClosedForm, TheLobeIsNarrowAlongTheScratches) {
  const auto level = [](const Eigen::Vector3d& lamp) {
    const EdgeScene scene = [&] {
      EdgeScene s = lit_scene(SceneStage::scribed_bare, far_lamp(lamp));
      s.finishes.face = {.even = 0.0, .along = 0.05, .across = 0.25};
      s.set_up.card_x_mm = 0.0;
      return s;
    }();
    return steel_level(scene, Surface::face, 0.0).mean();
  };
  const double lean = 0.1;  // of the lamp; half vectors lean half as far
  const double straight = level({0.0, 0.0, 1.0});
  const double tan_half = std::tan(0.5 * lean);
  const double dim = std::sqrt(std::cos(lean));
  const double along = level({std::sin(lean), 0.0, std::cos(lean)});
  const double across = level({0.0, std::sin(lean), std::cos(lean)});
  EXPECT_NEAR(along / straight, dim * std::exp(-std::pow(tan_half / 0.05, 2)), 1e-3);
  EXPECT_NEAR(across / straight, dim * std::exp(-std::pow(tan_half / 0.25, 2)), 1e-3);
}

// The truth's contrast is that of the picture: land and facets of random scenes without texture,
// read half-way between their borders.
TEST(LightingClosedForm, TheTruthTellsTheContrastThatThePictureShows) {
  for (int number = 0; number < 8; ++number) {
    std::mt19937_64 rng = seeded("LightingContrast", number);
    EdgeScene scene = random_edge_scene(SceneStage::ground, rng);
    scene.face_texture = scene.facet_texture = scene.land_texture = Texture{};
    scene.scratches.clear();
    scene.specks.clear();
    scene.blade.burr = {};
    scene.blade.land_width_mm = {.at_zero = 0.8};
    scene.light_slope_x = scene.light_slope_y = 0.0;
    const Caster caster(scene);
    const auto level = [&](const Eigen::Vector3d& p_blade) {
      const Eigen::Vector3d p = (camera_from_blade(scene.set_up) * Point<Blade>{p_blade}).mm;
      return caster.shade(caster.cast(p.head<2>() / p.z()));
    };
    const StationTruth truth = truth_at(scene, 40.0);
    const double z = cross_section(scene, 40.0).edge_z_mm;
    const double deep = 0.2;  // well above the shadow by the jaws
    const Paint land = level({40.0, truth.offset_mm, z});
    const Paint left =
        level({40.0, truth.left_mm + deep * std::tan(scene.blade.left.angle_rad), z + deep});
    const Paint right =
        level({40.0, truth.right_mm - deep * std::tan(scene.blade.right.angle_rad), z + deep});
    // Highlights vary over the facet's depth, which the truth takes at its middle.
    EXPECT_NEAR(largest_step(land, left), truth.contrast_left,
                0.02 + 0.02 * std::abs(truth.contrast_left));
    EXPECT_NEAR(largest_step(land, right), truth.contrast_right,
                0.02 + 0.02 * std::abs(truth.contrast_right));
  }
}

// A lamp at elevation e beside the blade: its shadow on the card reaches height / tan(e) beyond
// the flat on the other side.
TEST(LightingClosedForm, TheBladesShadowHasItsLength) {
  const double elevation = radians(40.0);
  const EdgeScene scene = lit_scene(SceneStage::scribed_bare,
                                    far_lamp({0.0, std::cos(elevation), std::sin(elevation)}));
  Glow lamp = scene.lighting->glows.front();
  lamp.place_mm = card_from_blade(scene.set_up).inverse().matrix * lamp.place_mm;
  const double height = scene.set_up.edge_height_mm(0.0);
  const double reach = height / std::tan(elevation);
  const double half = 0.5 * scene.blade.thickness_mm;
  const auto share = [&](double beyond_mm) {  // on the left, away from the lamp
    return lamp_share(scene, lamp, {30.0, half + beyond_mm, height});
  };
  EXPECT_NEAR(share(reach), 0.5, 0.03);  // the lamp is 100 m away: 0.4 um in 10 um of softness
  EXPECT_LT(share(reach - 0.1), 0.01);
  EXPECT_GT(share(reach + 0.1), 0.99);
  EXPECT_EQ(lamp_share(scene, lamp, {30.0, -half - 0.1, height}), 1.0);
}

// From Y off the mid-plane and D above the rim, the flat is seen down to the jaw h below it over
// f (Y - T/2) (1 / D - 1 / (D + h)).
TEST(GeometryClosedForm, TheFlatBelowItsRimHasTheWidthThatHeightAndCameraGive) {
  for (const double gap_mm : {0.0, 0.5}) {
    EdgeScene scene = lit_scene(SceneStage::scribed_bare, far_lamp({0.0, 0.0, 1.0}));
    scene.blade.corner_left = scene.blade.corner_right = {0.0, 0.0};
    scene.set_up.edge_height_mm = {.at_zero = 6.0};
    scene.set_up.jaw_left.gap_mm = gap_mm;
    const double beside = 12.0, above = 200.0;
    Transform<Camera, Card>& T_camera_card = scene.set_up.T_camera_card;
    T_camera_card.matrix.linear() = Eigen::Vector3d(1.0, -1.0, -1.0).asDiagonal();
    T_camera_card.matrix.translation() =
        T_camera_card.matrix.linear() * Eigen::Vector3d(0.0, beside, -(above + 6.0));
    const Caster caster(scene);
    const double half = 0.5 * scene.blade.thickness_mm;
    const double deep = 6.0 + scene.set_up.card_thickness_mm;
    constexpr double kStep = 1e-5;
    double seen = 0.0;
    for (double v = -0.08; v < 0.08; v += kStep) {
      const Hit hit = caster.cast({0.01, v});
      if (hit.region == Region::flat_left) seen += kStep;
      EXPECT_NE(hit.region, Region::flat_right);
    }
    // Through a gap the ray passes the jaw's upper border, gap_mm nearer to the camera's side.
    const double farther = gap_mm > 0.0 ? deep * (beside - half) / (beside - half - gap_mm) : deep;
    const double at_jaw = gap_mm > 0.0 ? (beside - half - gap_mm) / (above + deep)
                                       : (beside - half) / (above + farther);
    EXPECT_NEAR(seen, (beside - half) / above - at_jaw, 3.0 * kStep);
  }
}

TEST(GeometryClosedForm, UnequalBrokenCornersTakeTheirShareOffTheFace) {
  EdgeScene scene = lit_scene(SceneStage::scribed_bare, far_lamp({0.0, 0.0, 1.0}));
  scene.blade.corner_left = {.across_mm = 0.05, .down_mm = 0.02};
  scene.blade.corner_right = {.across_mm = 0.01, .down_mm = 0.04};
  const Caster caster(scene);
  constexpr double kStep = 2e-6;
  double left = 0.0, right = 0.0;
  for (double v = -0.012; v < 0.012; v += kStep) {
    const Region region = caster.cast({0.0, v}).region;
    left += region == Region::chamfer_left ? kStep : 0.0;
    right += region == Region::chamfer_right ? kStep : 0.0;
  }
  // Seen from 200 mm above, the corner's lower border 0.02 or 0.04 mm deeper: 0.01 % farther.
  EXPECT_NEAR(200.0 * left, 0.05, 200.0 * 3.0 * kStep);
  EXPECT_NEAR(200.0 * right, 0.01, 200.0 * 3.0 * kStep);
}

}  // namespace
}  // namespace evenbevel::test
