#include "caster.hpp"

#include <algorithm>
#include <cmath>

#include "steel_texture.hpp"

namespace evenbevel::test {
namespace {

/// Linear between these, a fillet of radius 1 mm is off by 5e-5 mm at the most.
constexpr double kSectionStep = 0.02;

/// Keeps the part of a ray that lies inside half-planes; remembers through which one it came in.
struct Clip {
  double enter = 0.0;
  double leave = 1e12;
  Region through = Region::blade_end;

  /// Inside: gap + depth * rate <= 0.
  void cut(double gap, double rate, Region region) {
    if (rate < 0.0) {
      const double at = -gap / rate;
      if (at > enter) {
        enter = at;
        through = region;
      }
    } else if (rate > 0.0) {
      leave = std::min(leave, -gap / rate);
    } else if (gap > 0.0) {
      leave = -1.0;
    }
  }
};

/// R * (x, y, 1), without Eigen's temporaries: most of the work on the card is this.
Eigen::Vector3d turned(const Eigen::Matrix3d& R_to_from, const Eigen::Vector2d& on_plane) {
  return R_to_from.col(0) * on_plane.x() + R_to_from.col(1) * on_plane.y() + R_to_from.col(2);
}

}  // namespace

Caster::Caster(const EdgeScene& scene) : scene_(scene), shading_(scene), print_(scene.set_up) {
  const Eigen::Isometry3d T_card_camera = scene.set_up.T_camera_card.inverse().matrix;
  const Eigen::Isometry3d T_card_blade = card_from_blade(scene.set_up).matrix;
  const Eigen::Isometry3d T_blade_camera = T_card_blade.inverse() * T_card_camera;
  R_card_camera_ = T_card_camera.linear();
  R_blade_camera_ = T_blade_camera.linear();
  centre_card_ = T_card_camera.translation();
  centre_blade_ = T_blade_camera.translation();
  up_blade_ = T_card_blade.linear().row(2).transpose();
  pixel_mm_ = std::abs(centre_blade_.z()) / scene.camera.focal_px.x();
  jaw_height_mm_ = T_card_blade.translation().z() + scene.set_up.card_thickness_mm;
  const double length = scene.blade.x_max_mm - scene.blade.x_min_mm;
  const int steps = static_cast<int>(std::ceil(length / kSectionStep)) + 1;
  for (int i = 0; i <= steps; ++i) {
    sections_.push_back(cross_section(scene, scene.blade.x_min_mm + i * kSectionStep));
    highest_edge_z_ = std::min(highest_edge_z_, sections_.back().edge_z_mm);
  }
}

Eigen::Vector3d Caster::card_point(const Eigen::Vector2d& on_plane, double card_z_mm,
                                   double* depth) const {
  const Eigen::Vector3d direction = turned(R_card_camera_, on_plane);
  *depth = (card_z_mm - centre_card_.z()) / direction.z();
  return centre_card_ + *depth * direction;
}

Hit Caster::on_print(const Eigen::Vector3d& p_card) const {
  return {print_.at(p_card.x(), p_card.y()), 0.0, 0.0, 0.0, p_card.x(), p_card.y()};
}

Hit Caster::cast_card(const Eigen::Vector2d& on_plane) const {
  double depth = 0.0;
  return on_print(card_point(on_plane, 0.0, &depth));
}

bool Caster::near_card_node(const Eigen::Vector2d& on_plane) const {
  double depth = 0.0;
  const Eigen::Vector3d p_card = card_point(on_plane, 0.0, &depth);
  return print_.near_node(p_card.x(), p_card.y());
}

CrossSection Caster::section(double x_mm) const {
  const double at = (x_mm - scene_.blade.x_min_mm) / kSectionStep;
  const double last = static_cast<double>(sections_.size()) - 2.0;
  const auto index = static_cast<std::size_t>(std::clamp(std::floor(at), 0.0, last));
  const double share = std::clamp(at - static_cast<double>(index), 0.0, 1.0);
  const CrossSection& a = sections_[index];
  const CrossSection& b = sections_[index + 1];
  const auto mix = [share](double from, double to) { return from + share * (to - from); };
  return {mix(a.left_mm, b.left_mm),          mix(a.right_mm, b.right_mm),
          mix(a.edge_z_mm, b.edge_z_mm),      mix(a.tan_left, b.tan_left),
          mix(a.tan_right, b.tan_right),      mix(a.fillet_left, b.fillet_left),
          mix(a.fillet_right, b.fillet_right)};
}

bool Caster::meet_blade(const Ray& ray, double* depth, Hit* hit) const {
  const BladeShape& blade = scene_.blade;
  const Eigen::Vector3d& o = ray.origin;
  const Eigen::Vector3d& d = ray.direction;
  const double half = 0.5 * blade.thickness_mm;
  Clip clip;
  *depth = -o.z() / d.z();
  for (int pass = 0; pass < 3; ++pass) {  // the section where the ray came in, from a first guess
    const double x = o.x() + *depth * d.x();
    const CrossSection s = section(x);
    const double into = o.z() - s.edge_z_mm;  // how far the origin lies below the edge's level
    clip = Clip{};
    clip.cut(blade.x_min_mm - o.x(), -d.x(), Region::blade_end);
    clip.cut(o.x() - blade.x_max_mm, d.x(), Region::blade_end);
    clip.cut(-into, -d.z(), Region::land);
    clip.cut(o.y() - half, d.y(), Region::flat_left);
    clip.cut(-o.y() - half, -d.y(), Region::flat_right);
    if (blade.has_facets()) {
      clip.cut(o.y() - s.left_mm - into * s.tan_left, d.y() - d.z() * s.tan_left,
               Region::facet_left);
      clip.cut(-o.y() + s.right_mm - into * s.tan_right, -d.y() - d.z() * s.tan_right,
               Region::facet_right);
    }
    if (const Corner& corner = blade.corner_left; !corner.sharp()) {
      const double tan = corner.across_mm / corner.down_mm;
      clip.cut(o.y() - half + corner.across_mm - into * tan, d.y() - d.z() * tan,
               Region::chamfer_left);
    }
    if (const Corner& corner = blade.corner_right; !corner.sharp()) {
      const double tan = corner.across_mm / corner.down_mm;
      clip.cut(-o.y() - half + corner.across_mm - into * tan, -d.y() - d.z() * tan,
               Region::chamfer_right);
    }
    if (clip.enter > clip.leave) return false;
    const double moved = std::abs(clip.enter - *depth);
    *depth = clip.enter;
    if (moved < 1e-4) break;
  }
  const Eigen::Vector3d p = o + *depth * d;
  hit->region = region_at(clip.through, p.x(), p.y());
  hit->x_mm = p.x();
  hit->y_mm = p.y();
  hit->above_jaw_mm = jaw_height_mm_ + up_blade_.dot(p);
  return true;
}

Region Caster::region_at(Region through, double x_mm, double y_mm) const {
  if (through == Region::land) return top_region(x_mm, y_mm);
  const bool left = scene_.blade.burr.left;
  if (through != (left ? Region::facet_left : Region::facet_right)) return through;
  const double reach = burr_reach_mm(scene_, x_mm);
  if (reach <= 0.0) return through;
  const CrossSection s = section(x_mm);
  const double out = left ? y_mm - s.left_mm : s.right_mm - y_mm;
  return out < reach ? Region::burr : through;
}

Region Caster::top_region(double x_mm, double y_mm) const {
  const BladeShape& blade = scene_.blade;
  if (blade.has_facets()) return Region::land;
  const double from_middle = y_mm - blade.offset_mm(x_mm);
  const double reach = 0.5 * blade.line_width_mm;
  double wander[4] = {0.0, 0.0, 0.0, 0.0};
  if (blade.line_roughness_mm > 0.0) {
    for (unsigned i = 0; i < 4; ++i) {
      wander[i] = blade.line_roughness_mm * smooth_noise(x_mm / 0.2, scene_.texture_seed + 40 + i);
    }
  }
  const double left = from_middle - 0.5 * blade.line_gap_mm;
  const double right = from_middle + 0.5 * blade.line_gap_mm;
  if (left > reach + wander[0]) return Region::face_left;
  if (left > -reach + wander[1]) return Region::line_left;
  if (right > reach + wander[2]) return Region::face_middle;
  if (right > -reach + wander[3]) return Region::line_right;
  return Region::face_right;
}

bool Caster::open_jaws() const {
  const SetUp& set_up = scene_.set_up;
  return !set_up.jaw_left.there || !set_up.jaw_right.there || set_up.jaw_left.gap_mm > 0.0 ||
         set_up.jaw_right.gap_mm > 0.0;
}

bool Caster::beside_blade(const Ray& ray, double jaw_depth) const {
  const double edge_depth = (highest_edge_z_ - ray.origin.z()) / ray.direction.z();
  const double half = 0.5 * scene_.blade.thickness_mm;
  const double at_edge = ray.origin.y() + edge_depth * ray.direction.y();
  constexpr double kDeep = 1.15;  // through open jaws the flats are seen some 30 mm deep
  const double at_jaw =
      ray.origin.y() + (open_jaws() ? kDeep : 1.0) * jaw_depth * ray.direction.y();
  return std::min(at_edge, at_jaw) > half || std::max(at_edge, at_jaw) < -half;
}

Hit Caster::cast(const Eigen::Vector2d& on_plane) const {
  double card_depth = 0.0;
  double jaw_depth = 0.0;
  double blade_depth = 0.0;
  const Eigen::Vector3d p_card = card_point(on_plane, 0.0, &card_depth);
  const bool through_slot = print_.in_slot(p_card.x(), p_card.y());
  const Ray ray{centre_blade_, turned(R_blade_camera_, on_plane)};
  Hit hit;
  const double jaw_z = -scene_.set_up.card_thickness_mm;
  const Eigen::Vector3d p_jaw_card = card_point(on_plane, jaw_z, &jaw_depth);
  const bool on_blade = !beside_blade(ray, jaw_depth) && meet_blade(ray, &blade_depth, &hit);
  if (!through_slot) return on_blade && blade_depth < card_depth ? hit : on_print(p_card);
  if (on_blade && blade_depth < jaw_depth) return hit;
  if (!print_.in_slot(p_jaw_card.x(), p_jaw_card.y())) {
    return {Region::card_cut, 0.0, 0.0, 0.0, p_card.x(), p_card.y()};
  }
  const Eigen::Vector3d p_jaw = ray.origin + jaw_depth * ray.direction;
  const Jaw& jaw = p_jaw.y() > 0.0 ? scene_.set_up.jaw_left : scene_.set_up.jaw_right;
  const double beside = std::abs(p_jaw.y()) - 0.5 * scene_.blade.thickness_mm;
  if (jaw.there && beside > jaw.gap_mm) {
    return {Region::jaw, p_jaw.x(), p_jaw.y(), 0.0, p_jaw_card.x(), p_jaw_card.y()};
  }
  return on_blade ? hit : Hit{Region::gap};
}

double Caster::texture(const Hit& hit) const {
  const auto seed = static_cast<std::uint32_t>(scene_.texture_seed) * 101U;
  switch (hit.region) {
    case Region::face_left:
    case Region::face_middle:
    case Region::face_right:
      return modulation(scene_.face_texture, hit.x_mm, hit.y_mm, seed);
    case Region::jaw:
      return modulation(scene_.jaw_texture, hit.x_mm, hit.y_mm, seed + 5);
    case Region::facet_left:
      return modulation(scene_.facet_texture, hit.x_mm, hit.y_mm, seed + 10);
    case Region::facet_right:
      return modulation(scene_.facet_texture, hit.x_mm, hit.y_mm, seed + 20);
    case Region::line_left:
    case Region::line_right:
      return modulation(scene_.line_texture, hit.x_mm, hit.y_mm,
                        seed + 30 + 7 * static_cast<std::uint32_t>(hit.region));
    case Region::land:
    case Region::chamfer_left:
    case Region::chamfer_right:
    case Region::burr:
      return modulation(scene_.land_texture, hit.x_mm, hit.y_mm,
                        seed + 30 + static_cast<std::uint32_t>(hit.region));
    default:
      return 1.0;
  }
}

/// Less light reaches the corner between jaw and blade, and less still the gap below.
double Caster::shadow(const Hit& hit) const {
  const SetUp& set_up = scene_.set_up;
  const Jaw& jaw = hit.y_mm > 0.0 ? set_up.jaw_left : set_up.jaw_right;
  if (hit.region == Region::jaw) {
    const double beside = std::abs(hit.y_mm) - 0.5 * scene_.blade.thickness_mm - jaw.gap_mm;
    return jaw.gap_mm > 0.0 ? 1.0 : 1.0 - 0.6 * std::exp(-beside / 0.2);
  }
  if (hit.region < Region::facet_left) return 1.0;
  const bool facet = hit.region == Region::facet_left || hit.region == Region::facet_right;
  if (facet && scene_.blade.stage == SceneStage::bevelled) {  // free of the jaws: gets dark slowly
    return 0.1 + 0.9 / (1.0 + std::exp(-hit.above_jaw_mm / 1.2));
  }
  if (!jaw.there) return 1.0;
  if (hit.above_jaw_mm < 0.0) return 0.4 * std::exp(hit.above_jaw_mm / 4.0);
  return 1.0 - 0.6 * std::exp(-hit.above_jaw_mm / (0.3 + jaw.gap_mm));
}

Paint Caster::facet(const Paint& ground, const Paint& fillet, double share) const {
  return blend(ground, fillet, std::min(1.0, 4.0 * share));
}

/// The steel's own paint.
Paint Caster::steel_paint(const Hit& hit) const {
  const Paints& paints = scene_.paints;
  switch (hit.region) {
    case Region::line_left:
      return paints.line_left;
    case Region::line_right:
      return paints.line_right;
    case Region::land: {  // what is not cut yet still looks like the face
      const CrossSection s = section(hit.x_mm);
      return blend(paints.land, paints.face, std::max(s.fillet_left, s.fillet_right));
    }
    case Region::facet_left:
      return facet(paints.facet_left, paints.fillet_left, section(hit.x_mm).fillet_left);
    case Region::facet_right:
      return facet(paints.facet_right, paints.fillet_right, section(hit.x_mm).fillet_right);
    case Region::burr:
      return paints.burr;
    case Region::chamfer_left:
      return paints.chamfer_left;
    case Region::chamfer_right:
      return paints.chamfer_right;
    case Region::flat_left:
      return paints.flat_left;
    case Region::flat_right:
      return paints.flat_right;
    case Region::blade_end:
      return paints.blade_end;
    default:
      return paints.face;
  }
}

/// The wall of a groove that was hit. @param side  +1: of the left line.
Surface Caster::wall(const Hit& hit, double side) const {
  const BladeShape& blade = scene_.blade;
  const double bottom = blade.offset_mm(hit.x_mm) + 0.5 * side * blade.line_gap_mm;
  return hit.y_mm > bottom ? Surface::wall_right : Surface::wall_left;
}

Surface Caster::surface(const Hit& hit) const {
  switch (hit.region) {
    case Region::line_left:
      return wall(hit, +1.0);
    case Region::line_right:
      return wall(hit, -1.0);
    case Region::facet_left:
      return Surface::facet_left;
    case Region::facet_right:
      return Surface::facet_right;
    case Region::burr:  // stands up like the corner of that side
      return scene_.blade.burr.left ? Surface::corner_left : Surface::corner_right;
    case Region::chamfer_left:
      return Surface::corner_left;
    case Region::chamfer_right:
      return Surface::corner_right;
    case Region::flat_left:
      return Surface::flat_left;
    case Region::flat_right:
      return Surface::flat_right;
    case Region::blade_end:
      return hit.x_mm < 0.5 * (scene_.blade.x_min_mm + scene_.blade.x_max_mm) ? Surface::heel_end
                                                                              : Surface::tip_end;
    default:
      return Surface::face;
  }
}

Paint Caster::shade(const Hit& hit) const {
  const Paints& paints = scene_.paints;
  const bool lit = shading_.lit();
  if (const std::optional<Paint> print = printed_paint(hit.region, paints)) {
    return lit ? *print * shading_.card(hit.card_x_mm, hit.card_y_mm) : *print;
  }
  switch (hit.region) {
    case Region::card_cut:
      return lit ? paints.card_cut * shading_.card(hit.card_x_mm, hit.card_y_mm) : paints.card_cut;
    case Region::gap:
      return lit ? paints.gap * scene_.lighting->exposure : paints.gap;
    case Region::jaw: {
      const Paint paint = paints.jaw * shadow(hit) * texture(hit);
      return lit ? paint * shading_.jaw(hit.card_x_mm, hit.card_y_mm) : paint;
    }
    default:
      break;
  }
  const Paint paint = steel_paint(hit) *
                      (texture(hit) * shadow(hit) * marked(scene_, hit.x_mm, hit.y_mm, pixel_mm_));
  return lit ? paint * shading_.steel(surface(hit), hit.x_mm) : paint;
}

}  // namespace evenbevel::test
