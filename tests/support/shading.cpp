#include "shading.hpp"

#include <algorithm>
#include <cmath>

#include <Eigen/Geometry>

namespace evenbevel::test {
namespace {

constexpr double kStep = 0.25;  // mm; brightness along the blade is linear between

/// The lamps seen from the blade.
LightOnSpot light_on_blade(const EdgeScene& scene) {
  const Eigen::Isometry3d T_blade_card = card_from_blade(scene.set_up).inverse().matrix;
  const Eigen::Isometry3d T_card_camera = scene.set_up.T_camera_card.inverse().matrix;
  LightOnSpot light;
  light.around = scene.lighting->around;
  light.eye = T_blade_card * Eigen::Vector3d(T_card_camera.translation());
  light.up = T_blade_card.linear().col(2);
  light.glows = scene.lighting->glows;
  Paint on_jaw = paper_from_around(light.around);
  for (Glow& glow : light.glows) {
    glow.place_mm = T_blade_card * glow.place_mm;
    on_jaw = on_jaw + glow.strength * on_paper(glow, Eigen::Vector3d::Zero(), light.up);
  }
  light.below = on_jaw * scene.paints.jaw * 0.7;  // the blade takes light away from its jaws
  return light;
}

/// dy/dx of a land's border: the facet's own normal turns within the fillet.
double border_slope(const EdgeScene& scene, double x_mm, bool left) {
  constexpr double kHalf = 0.05;
  const CrossSection before = cross_section(scene, x_mm - kHalf);
  const CrossSection after = cross_section(scene, x_mm + kHalf);
  const double step = left ? after.left_mm - before.left_mm : after.right_mm - before.right_mm;
  return step / (2.0 * kHalf);
}

Spot facet_spot(const EdgeScene& scene, const CrossSection& s, double x_mm, bool left) {
  const double side = left ? 1.0 : -1.0;
  const double tan = left ? s.tan_left : s.tan_right;
  const double border = left ? s.left_mm : s.right_mm;
  const double depth = 0.5 * (0.5 * scene.blade.thickness_mm - side * border);
  Spot spot;
  spot.place = {x_mm, border + side * depth, s.edge_z_mm + depth / tan};
  const double slope = side * border_slope(scene, x_mm, left);
  spot.normal = Eigen::Vector3d(-slope, side, -tan).normalized();
  spot.scratch = spot.normal.cross(Eigen::Vector3d::UnitX()).normalized();  // belt: across
  return spot;
}

Spot spot_of(const EdgeScene& scene, Surface surface, double x_mm) {
  const CrossSection s = cross_section(scene, x_mm);
  const double half = 0.5 * scene.blade.thickness_mm;
  const auto at = [&](double y, double deeper, const Eigen::Vector3d& normal) {
    return Spot{{x_mm, y, s.edge_z_mm + deeper}, normal.normalized(), Eigen::Vector3d::UnitX()};
  };
  const Corner& left = scene.blade.corner_left;
  const Corner& right = scene.blade.corner_right;
  const struct {
    double depth, half_width;
  } groove{scene.blade.line_depth_mm, 0.5 * scene.blade.line_width_mm};
  switch (surface) {
    case Surface::facet_left:
      return facet_spot(scene, s, x_mm, true);
    case Surface::facet_right:
      return facet_spot(scene, s, x_mm, false);
    case Surface::corner_left:
      return at(half, 0.0, {0.0, left.down_mm, -left.across_mm});
    case Surface::corner_right:
      return at(-half, 0.0, {0.0, -right.down_mm, -right.across_mm});
    case Surface::wall_left:
      return at(0.0, 0.0, {0.0, groove.depth, -groove.half_width});
    case Surface::wall_right:
      return at(0.0, 0.0, {0.0, -groove.depth, -groove.half_width});
    case Surface::flat_left:
      return at(half, 2.0, {0.0, 1.0, 0.0});
    case Surface::flat_right:
      return at(-half, 2.0, {0.0, -1.0, 0.0});
    case Surface::heel_end:
    case Surface::tip_end: {
      Spot spot = at(0.0, 2.0, {surface == Surface::tip_end ? 1.0 : -1.0, 0.0, 0.0});
      spot.scratch = Eigen::Vector3d::UnitY();
      return spot;
    }
    default: {  // the face follows the edge's height
      constexpr double kHalf = 0.5;
      const double rise = cross_section(scene, x_mm + kHalf).edge_z_mm -
                          cross_section(scene, x_mm - kHalf).edge_z_mm;
      Spot spot = at(0.0, 0.0, {rise / (2.0 * kHalf), 0.0, -1.0});
      spot.scratch = Eigen::Vector3d::UnitY().cross(-spot.normal).normalized();
      return spot;
    }
  }
}

const Sheen& sheen_of(const Finishes& finishes, Surface surface) {
  switch (surface) {
    case Surface::wall_left:
    case Surface::wall_right:
      return finishes.line;
    case Surface::facet_left:
    case Surface::facet_right:
      return finishes.facet;
    case Surface::corner_left:
    case Surface::corner_right:
      return finishes.corner;
    case Surface::flat_left:
    case Surface::flat_right:
    case Surface::heel_end:
    case Surface::tip_end:
      return finishes.flat;
    default:
      return finishes.face;
  }
}

Paint level_under(const EdgeScene& scene, const LightOnSpot& light, Surface surface, double x_mm) {
  return sent_to_eye(spot_of(scene, surface, x_mm), sheen_of(scene.finishes, surface), light) *
         scene.lighting->exposure;
}

double soft_step(double margin, double softness) {
  return 1.0 / (1.0 + std::exp(-1.7 * margin / softness));  // 1.7: as a normal distribution's
}

}  // namespace

double lamp_share(const EdgeScene& scene, const Glow& glow_in_blade, const Eigen::Vector3d& p) {
  const double half = 0.5 * scene.blade.thickness_mm;
  const double side = p.y() > 0.0 ? 1.0 : -1.0;
  const Eigen::Vector3d to_glow = glow_in_blade.place_mm - p;
  if (std::abs(p.y()) < half || side * to_glow.y() >= 0.0) return 1.0;  // lamp on this side
  const double to_flat = (side * half - p.y()) / to_glow.y();
  if (to_flat > 1.0) return 1.0;
  const Eigen::Vector3d at_flat = p + to_flat * to_glow;
  const CrossSection s = cross_section(scene, at_flat.x());
  const double depth =
      side > 0.0 ? (half - s.left_mm) / s.tan_left : (half + s.right_mm) / s.tan_right;
  const double border = side > 0.0 ? s.left_mm : s.right_mm;
  const Eigen::Vector3d at_border = p + (border - p.y()) / to_glow.y() * to_glow;
  // The lamp's patch, as far away as the shadow's cause is near.
  const double softness = 0.01 + glow_in_blade.radius_mm * (at_flat - p).norm() / to_glow.norm();
  const double over = std::min(s.edge_z_mm + depth - at_flat.z(), s.edge_z_mm - at_border.z());
  const double along =
      std::min(at_flat.x() - scene.blade.x_min_mm, scene.blade.x_max_mm - at_flat.x());
  return 1.0 - soft_step(-over, softness) * soft_step(along, softness);
}

PlaneLight::PlaneLight(const EdgeScene& scene, double card_z_mm, const Grid& grid)
    : grid_(grid),
      columns_(static_cast<int>(2.0 * grid.half_x_mm / grid.step_x_mm) + 1),
      rows_(static_cast<int>(2.0 * grid.half_y_mm / grid.step_y_mm) + 1) {
  const LightOnSpot light = light_on_blade(scene);
  const Transform<Blade, Card> T_blade_card = card_from_blade(scene.set_up).inverse();
  const Paint even = paper_from_around(light.around);
  for (int row = 0; row < rows_; ++row) {
    for (int column = 0; column < columns_; ++column) {
      const Point<Card> p_card{{column * grid.step_x_mm - grid.half_x_mm,
                                row * grid.step_y_mm - grid.half_y_mm, card_z_mm}};
      const Eigen::Vector3d p_blade = (T_blade_card * p_card).mm;
      Paint sum = even;
      for (const Glow& glow : light.glows) {
        sum = sum + glow.strength *
                        (on_paper(glow, p_blade, light.up) * lamp_share(scene, glow, p_blade));
      }
      nodes_.push_back(sum * scene.lighting->exposure);
    }
  }
}

Paint PlaneLight::at(double card_x_mm, double card_y_mm) const {
  const double x =
      std::clamp((card_x_mm + grid_.half_x_mm) / grid_.step_x_mm, 0.0, columns_ - 1.001);
  const double y = std::clamp((card_y_mm + grid_.half_y_mm) / grid_.step_y_mm, 0.0, rows_ - 1.001);
  const int column = static_cast<int>(x);
  const int row = static_cast<int>(y);
  const Paint* node = &nodes_[static_cast<std::size_t>(row * columns_ + column)];
  const Paint above = blend(node[0], node[1], x - column);
  return blend(above, blend(node[columns_], node[columns_ + 1], x - column), y - row);
}

Shading::Shading(const EdgeScene& scene) : x_min_mm_(scene.blade.x_min_mm) {
  if (!scene.lighting) return;
  const LightOnSpot light = light_on_blade(scene);
  const double length = scene.blade.x_max_mm - scene.blade.x_min_mm;
  const int steps = static_cast<int>(std::ceil(length / kStep)) + 1;
  for (std::size_t surface = 0; surface < kSurfaces; ++surface) {
    for (int i = 0; i <= steps; ++i) {
      steel_[surface].push_back(
          level_under(scene, light, static_cast<Surface>(surface), x_min_mm_ + i * kStep));
    }
  }
  planes_.emplace_back(scene, 0.0, PlaneLight::Grid{150.0, 60.0, 3.0, 0.5});
  planes_.emplace_back(scene, -scene.set_up.card_thickness_mm,
                       PlaneLight::Grid{150.0, 7.0, 0.5, 0.2});
}

Paint Shading::steel(Surface surface, double x_mm) const {
  const std::vector<Paint>& levels = steel_[static_cast<std::size_t>(surface)];
  const double last = static_cast<double>(levels.size()) - 1.001;
  const double at = std::clamp((x_mm - x_min_mm_) / kStep, 0.0, last);
  const auto index = static_cast<std::size_t>(at);
  return blend(levels[index], levels[index + 1], at - static_cast<double>(index));
}

Paint steel_level(const EdgeScene& scene, Surface surface, double x_mm) {
  if (!scene.lighting) return grey_paint(1.0);
  return level_under(scene, light_on_blade(scene), surface, x_mm);
}

double largest_step(const Paint& inside, const Paint& outside) {
  double largest = 0.0;
  for (const float Paint::*channel : {&Paint::b, &Paint::g, &Paint::r}) {
    const double step = static_cast<double>(inside.*channel) / outside.*channel - 1.0;
    if (std::abs(step) > std::abs(largest)) largest = step;
  }
  return largest;
}

double border_contrast(const EdgeScene& scene, double x_mm, bool left) {
  const Paints& paints = scene.paints;
  const auto level = [&](const Paint& paint, Surface surface) {
    return paint * steel_level(scene, surface, x_mm);
  };
  if (!scene.blade.has_facets()) {
    const Paint& paint = left ? paints.line_left : paints.line_right;
    const Paint line =
        blend(level(paint, Surface::wall_left), level(paint, Surface::wall_right), 0.5);
    return largest_step(line, level(paints.face, Surface::face));
  }
  const Paint facet = left ? level(paints.facet_left, Surface::facet_left)
                           : level(paints.facet_right, Surface::facet_right);
  return largest_step(level(paints.land, Surface::face), facet);
}

}  // namespace evenbevel::test
