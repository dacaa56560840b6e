#pragma once

#include <vector>

#include <Eigen/Core>

#include "printed_card.hpp"
#include "scene.hpp"
#include "shading.hpp"

namespace evenbevel::test {

/// Where a ray ends, and in which region; the point in the blade frame (only on blade and jaws),
/// and in the card's (only on card and jaws).
struct Hit {
  Region region = Region::table;
  double x_mm = 0.0, y_mm = 0.0;
  double above_jaw_mm = 0.0;
  double card_x_mm = 0.0, card_y_mm = 0.0;
};

/// Casts rays from the camera onto blade, card, slot and jaws.
class Caster {
 public:
  explicit Caster(const EdgeScene& scene);

  /// @param on_plane  The ray through this point of the camera's plane z = 1.
  Hit cast(const Eigen::Vector2d& on_plane) const;
  /// The same where only the card can be met.
  Hit cast_card(const Eigen::Vector2d& on_plane) const;
  bool near_card_node(const Eigen::Vector2d& on_plane) const;

  Paint shade(const Hit& hit) const;

 private:
  struct Ray {
    Eigen::Vector3d origin, direction;  ///< Blade frame; points are origin + depth * direction.
  };
  Eigen::Vector3d card_point(const Eigen::Vector2d& on_plane, double card_z_mm,
                             double* depth) const;
  CrossSection section(double x_mm) const;
  /// The ray stays clear of the flats' planes from the edge's level down to the jaws.
  bool beside_blade(const Ray& ray, double jaw_depth) const;
  bool meet_blade(const Ray& ray, double* depth, Hit* hit) const;
  Hit on_print(const Eigen::Vector3d& p_card) const;
  bool open_jaws() const;
  Region region_at(Region through, double x_mm, double y_mm) const;
  Region top_region(double x_mm, double y_mm) const;
  double texture(const Hit& hit) const;
  double shadow(const Hit& hit) const;
  Paint facet(const Paint& ground, const Paint& fillet, double share) const;
  Paint steel_paint(const Hit& hit) const;
  Surface wall(const Hit& hit, double side) const;
  Surface surface(const Hit& hit) const;

  const EdgeScene& scene_;
  Shading shading_;
  PrintedCard print_;
  Eigen::Matrix3d R_card_camera_, R_blade_camera_;
  Eigen::Vector3d centre_card_, centre_blade_;
  Eigen::Vector3d up_blade_;    ///< The card's normal in the blade frame.
  double jaw_height_mm_ = 0.0;  ///< Of the blade frame's origin over the jaws' top.
  double highest_edge_z_ = 0.0;
  double pixel_mm_ = 0.1;               ///< On the edge.
  std::vector<CrossSection> sections_;  ///< Every kSectionStep from x_min.
};

}  // namespace evenbevel::test
