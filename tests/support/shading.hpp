#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "scene.hpp"

namespace evenbevel::test {

/// The steel's surfaces, each with its own normals and finish.
enum class Surface : std::uint8_t {
  face,       ///< The land too.
  wall_left,  ///< Of a scribed groove: the one that faces left, on its right side.
  wall_right,
  facet_left,
  facet_right,
  corner_left,
  corner_right,
  flat_left,
  flat_right,
  heel_end,
  tip_end
};
constexpr std::size_t kSurfaces = 11;

/// Light on a plane parallel to the card, as white paper there would throw it back: lamps, the
/// blade's shadow, surroundings. Looked up between nodes.
class PlaneLight {
 public:
  struct Grid {
    double half_x_mm, half_y_mm, step_x_mm, step_y_mm;
  };
  /// @param card_z_mm  Height of the plane in the card frame.
  PlaneLight(const EdgeScene& scene, double card_z_mm, const Grid& grid);
  Paint at(double card_x_mm, double card_y_mm) const;

 private:
  Grid grid_;
  int columns_, rows_;
  std::vector<Paint> nodes_;
};

/// Level of the steel's surfaces along the blade and of print and jaws under the scene's lamps; of
/// 1 everywhere, so that paints are levels, without lamps.
class Shading {
 public:
  explicit Shading(const EdgeScene& scene);

  bool lit() const { return !planes_.empty(); }
  Paint steel(Surface surface, double x_mm) const;
  Paint card(double card_x_mm, double card_y_mm) const {
    return planes_[0].at(card_x_mm, card_y_mm);
  }
  Paint jaw(double card_x_mm, double card_y_mm) const {
    return planes_[1].at(card_x_mm, card_y_mm);
  }

 private:
  std::array<std::vector<Paint>, kSurfaces> steel_;  ///< Every kStep from x_min.
  std::vector<PlaneLight> planes_;
  double x_min_mm_ = 0.0;
};

/// What a surface sends to the camera at x, its paint left aside, by its normal there; texture,
/// dust and contact shadows left aside.
Paint steel_level(const EdgeScene& scene, Surface surface, double x_mm);

/// (inside - outside) / outside, of the colour channel where it is largest.
double largest_step(const Paint& inside, const Paint& outside);

/// Step of linear light at a border of the land over the facet beside it, or of a line over the
/// face.
double border_contrast(const EdgeScene& scene, double x_mm, bool left);

/// Share of a lamp that blade and jaws leave to a place beside the blade or on the card.
double lamp_share(const EdgeScene& scene, const Glow& glow_in_blade,
                  const Eigen::Vector3d& p_blade_mm);

}  // namespace evenbevel::test
