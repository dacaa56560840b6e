#pragma once

#include <optional>
#include <random>
#include <vector>

#include <Eigen/Core>

#include "../side_view/side_scene.hpp"

namespace evenbevel::test {

// A face with grooves, lit by one lamp, with everything known. Nothing here uses the measuring
// code. Light: a facet sends the lamp's light to the camera as far as its normal lies near the half
// vector between the two. Blade frame as in side_scene.

/// A scratch: straight, with a rounded V for its cross-section.
struct Groove {
  Eigen::Vector2d from_mm, to_mm;  ///< x, z.
  double width_mm = 0.05, depth_mm = 0.01;
  double shine = 3.0;    ///< A wall that faces the half vector, beside the face's best light: 1.
  double spread = 0.20;  ///< Standard deviation of the walls' lean along the groove: it is torn.
  unsigned seed = 1;

  double length_mm() const { return (to_mm - from_mm).norm(); }
  /// Of the line, from x toward z, 0 .. pi.
  double direction_rad() const;
};

/// A bright crumb that shines alike for every lamp.
struct DustSpeck {
  Eigen::Vector2d at_mm;
  double radius_mm = 0.05, light = 0.5;
};

/// A bent hair that shines alike for every lamp.
struct Fibre {
  Eigen::Vector2d from_mm;
  double direction_rad = 0.0, length_mm = 3.0, bend_per_mm = 0.4, width_mm = 0.02, light = 0.6;
};

/// What the present grit has left.
struct Grain {
  double direction_rad = 1.5;  ///< Of its scratches, from x toward z.
  double wander_rad = 0.06;    ///< They cross each other by so much.
  double width_mm = 0.06, run_mm = 5.0;
  double contrast = 0.15;  ///< Of the lamp's light on it, relative.
};

struct FinishFace {
  SideBlade blade;
  Face face = Face::left;
  Grain bevel, flat;
  std::vector<Groove> grooves;
  std::vector<DustSpeck> specks;
  std::vector<Fibre> fibres;
  double bevel_line_glint = 0.0;  ///< Light of the broken corner along bevel line and plunge line.
  unsigned seed = 1;
};

/// Card frame: from the middle of the card.
struct Lamp {
  double azimuth_rad = 0.0;  ///< From x toward y.
  double elevation_rad = 0.42;
  double distance_mm = 500.0;
  double room = 0.15;  ///< Light from everywhere, beside the lamp's at the card's middle.
  unsigned seed = 1;   ///< Which of the grain's facets it meets.

  Eigen::Vector3d place_mm() const;
};

/// A lamp's light that one face sends to the camera.
class FinishLight {
 public:
  FinishLight(const FinishFace& face, const Lamp& lamp, const SidePose& pose, double pixel_mm);

  double at(double x_mm, double z_mm, double height_mm) const;
  /// The face alone, no grain, no grooves.
  double plain(double x_mm, double z_mm, double height_mm) const;
  /// A groove's light beside the face around it, mean over its width: 0 it does not show.
  double contrast(const Groove& groove) const;
  double paper(const Eigen::Vector2d& card_mm) const;

 private:
  struct Met;  ///< Surface and directions at a place.
  Met meet(double x_mm, double z_mm, double height_mm) const;
  double face_light(const Met& met, double grain) const;
  double groove_light(const Groove& groove, const Met& met, double u) const;
  double in_groove(const Groove& groove, const Met& met, double beside_mm) const;
  double marks(const Met& met, double light) const;
  const std::vector<std::size_t>& near(double x_mm, double z_mm) const;

  const FinishFace& face_;
  Lamp lamp_;
  Eigen::Vector3d lamp_card_mm_;
  Eigen::Vector3d lamp_mm_, eye_mm_;  ///< Blade frame: x, z, height.
  double sample_mm_;
  int columns_, rows_;
  std::vector<std::vector<std::size_t>> cells_;  ///< Grooves near each 2 mm of the face.
};

/// One photo; exposed so that neither paper nor most of the face is clipped, times `exposure`.
SidePicture take_finish_photo(const FinishFace& face, const Lamp& lamp, const SidePose& pose,
                              Imaging imaging, double exposure, std::mt19937_64& rng);

}  // namespace evenbevel::test
