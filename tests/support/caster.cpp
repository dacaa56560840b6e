#include "caster.hpp"

#include <algorithm>
#include <cmath>

namespace evenbevel::test {
namespace {

/// Linear between these, a fillet of radius 1 mm is off by 5e-5 mm at the most.
constexpr double kSectionStep = 0.02;

/// Uniform noise of unit variance at whole numbers (hash by 32-bit multiply and shift, after
/// common practice), linear between them.
double lattice_noise(std::int32_t index, std::uint32_t seed) {
  std::uint32_t h = static_cast<std::uint32_t>(index) * 0x9E3779B1U ^ seed * 0x85EBCA77U;
  h = (h ^ (h >> 15)) * 0x2C1B3C6DU;
  h = (h ^ (h >> 12)) * 0x297A2D39U;
  h ^= h >> 15;
  return (static_cast<double>(h) * 0x1.0p-31 - 1.0) * 1.7320508;
}

double smooth_noise(double at, std::uint32_t seed) {
  const double whole = std::floor(at);
  const auto index = static_cast<std::int32_t>(whole);
  const double share = at - whole;
  return (1.0 - share) * lattice_noise(index, seed) + share * lattice_noise(index + 1, seed);
}

double modulation(const Texture& texture, double x_mm, double y_mm, std::uint32_t seed) {
  double level = 1.0;
  if (texture.across > 0.0) {  // scratches lean a little
    level += texture.across * smooth_noise((x_mm + 0.1 * y_mm) / texture.across_mm, seed + 1);
  }
  if (texture.along > 0.0) {  // streaks change slowly along the blade: two rows blended
    constexpr double kStreak = 12.0;
    const double part = x_mm / kStreak - std::floor(x_mm / kStreak);
    const auto piece = static_cast<std::uint32_t>(static_cast<int>(std::floor(x_mm / kStreak)));
    const double at = y_mm / texture.along_mm;
    level += texture.along * ((1.0 - part) * smooth_noise(at, seed + 977 * piece) +
                              part * smooth_noise(at, seed + 977 * (piece + 1)));
  }
  if (texture.slow > 0.0) level += texture.slow * smooth_noise(x_mm / texture.slow_mm, seed + 3);
  return std::max(level, 0.05);
}

Paint blend(const Paint& a, const Paint& b, double share_of_b) {
  const auto s = static_cast<float>(share_of_b);
  return {a.b + s * (b.b - a.b), a.g + s * (b.g - a.g), a.r + s * (b.r - a.r)};
}

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

Caster::Caster(const EdgeScene& scene) : scene_(scene), print_(scene.set_up) {
  const Eigen::Isometry3d T_card_camera = scene.set_up.T_camera_card.inverse().matrix;
  const Eigen::Isometry3d T_card_blade = card_from_blade(scene.set_up).matrix;
  const Eigen::Isometry3d T_blade_camera = T_card_blade.inverse() * T_card_camera;
  R_card_camera_ = T_card_camera.linear();
  R_blade_camera_ = T_blade_camera.linear();
  centre_card_ = T_card_camera.translation();
  centre_blade_ = T_blade_camera.translation();
  up_blade_ = T_card_blade.linear().row(2).transpose();
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

Region Caster::cast_card(const Eigen::Vector2d& on_plane) const {
  double depth = 0.0;
  const Eigen::Vector3d p_card = card_point(on_plane, 0.0, &depth);
  return print_.at(p_card.x(), p_card.y());
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
    if (blade.chamfer_mm > 0.0) {
      const double reach = half - blade.chamfer_mm;
      clip.cut(o.y() - reach - into, d.y() - d.z(), Region::chamfer_left);
      clip.cut(-o.y() - reach - into, -d.y() - d.z(), Region::chamfer_right);
    }
    if (clip.enter > clip.leave) return false;
    const double moved = std::abs(clip.enter - *depth);
    *depth = clip.enter;
    if (moved < 1e-4) break;
  }
  const Eigen::Vector3d p = o + *depth * d;
  hit->region = clip.through == Region::land ? top_region(p.x(), p.y()) : clip.through;
  hit->x_mm = p.x();
  hit->y_mm = p.y();
  hit->above_jaw_mm = jaw_height_mm_ + up_blade_.dot(p);
  return true;
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

bool Caster::beside_blade(const Ray& ray, double jaw_depth) const {
  const double edge_depth = (highest_edge_z_ - ray.origin.z()) / ray.direction.z();
  const double half = 0.5 * scene_.blade.thickness_mm;
  const double at_edge = ray.origin.y() + edge_depth * ray.direction.y();
  const double at_jaw = ray.origin.y() + jaw_depth * ray.direction.y();
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
  if (!through_slot) {
    if (on_blade && blade_depth < card_depth) return hit;
    return {print_.at(p_card.x(), p_card.y())};
  }
  if (on_blade && blade_depth < jaw_depth) return hit;
  if (!print_.in_slot(p_jaw_card.x(), p_jaw_card.y())) return {Region::card_cut};
  const Eigen::Vector3d p_jaw = ray.origin + jaw_depth * ray.direction;
  if (std::abs(p_jaw.y()) > 0.5 * scene_.blade.thickness_mm) {
    return {Region::jaw, p_jaw.x(), p_jaw.y(), 0.0};
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
    case Region::facet_left:
      return modulation(scene_.facet_texture, hit.x_mm, hit.y_mm, seed + 10);
    case Region::facet_right:
      return modulation(scene_.facet_texture, hit.x_mm, hit.y_mm, seed + 20);
    case Region::land:
    case Region::line_left:
    case Region::line_right:
    case Region::chamfer_left:
    case Region::chamfer_right:
      return modulation(scene_.land_texture, hit.x_mm, hit.y_mm,
                        seed + 30 + static_cast<std::uint32_t>(hit.region));
    default:
      return 1.0;
  }
}

/// Less light reaches the corner between jaw and blade, and less still the gap below.
double Caster::shadow(const Hit& hit) const {
  if (hit.region == Region::jaw) {
    const double beside = std::abs(hit.y_mm) - 0.5 * scene_.blade.thickness_mm;
    return 1.0 - 0.6 * std::exp(-beside / 0.2);
  }
  if (hit.region < Region::facet_left) return 1.0;
  const bool facet = hit.region == Region::facet_left || hit.region == Region::facet_right;
  if (facet && scene_.blade.stage == SceneStage::bevelled) {  // free of the jaws: gets dark slowly
    return 0.1 + 0.9 / (1.0 + std::exp(-hit.above_jaw_mm / 1.2));
  }
  if (hit.above_jaw_mm < 0.0) return 0.4 * std::exp(hit.above_jaw_mm / 4.0);
  return 1.0 - 0.6 * std::exp(-hit.above_jaw_mm / 0.3);
}

Paint Caster::shade(const Hit& hit) const {
  const Paints& paints = scene_.paints;
  if (const std::optional<Paint> print = printed_paint(hit.region, paints)) return *print;
  Paint paint;
  switch (hit.region) {
    case Region::card_cut:
      return paints.card_cut;
    case Region::gap:
      return paints.gap;
    case Region::jaw:
      paint = paints.jaw;
      break;
    case Region::face_left:
    case Region::face_middle:
    case Region::face_right:
      paint = paints.face;
      break;
    case Region::line_left:
      paint = paints.line_left;
      break;
    case Region::line_right:
      paint = paints.line_right;
      break;
    case Region::land: {  // what is not cut yet still looks like the face
      const CrossSection s = section(hit.x_mm);
      paint = blend(paints.land, paints.face, std::max(s.fillet_left, s.fillet_right));
      break;
    }
    case Region::facet_left:
      paint = blend(paints.facet_left, paints.fillet_left,
                    std::min(1.0, 4.0 * section(hit.x_mm).fillet_left));
      break;
    case Region::facet_right:
      paint = blend(paints.facet_right, paints.fillet_right,
                    std::min(1.0, 4.0 * section(hit.x_mm).fillet_right));
      break;
    case Region::chamfer_left:
      paint = paints.chamfer_left;
      break;
    case Region::chamfer_right:
      paint = paints.chamfer_right;
      break;
    case Region::flat_left:
      paint = paints.flat_left;
      break;
    case Region::flat_right:
      paint = paints.flat_right;
      break;
    case Region::blade_end:
      paint = paints.blade_end;
      break;
    default:  // the print
      break;
  }
  const auto level = static_cast<float>(texture(hit) * shadow(hit));
  return {paint.b * level, paint.g * level, paint.r * level};
}

}  // namespace evenbevel::test
