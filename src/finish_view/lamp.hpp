#pragma once

#include <optional>

#include <Eigen/Core>

#include "evenbevel/card.hpp"
#include "evenbevel/photo.hpp"

namespace evenbevel::finish {

/// Where the lamp stands, card frame.
struct LampPlace {
  double azimuth_rad = 0.0;    ///< From the card's x toward its y, -pi to pi.
  double on_card_rad = 0.0;    ///< The same, whatever frame the azimuth is brought to.
  double elevation_rad = 0.0;  ///< Seen from the card's middle.
};

/// From how the card's paper grows dimmer away from a small lamp: by the square of the distance and
/// by the cosine to the paper. Empty: it does not, within a few per cent.
std::optional<LampPlace> find_lamp(const cv::Mat& pixels, const CameraModel& camera,
                                   const Transform<Camera, Card>& T_camera_card);

/// The paper's light, median over the card; 1 where none of it shows. What is as bright beside it
/// in every photo shines for every lamp alike.
double paper_light(const cv::Mat& pixels, const CameraModel& camera,
                   const Transform<Camera, Card>& T_camera_card);

/// Lean, along a groove of that direction, of the facets that send the lamp's light upward: the
/// cosine's part of the half vector's slope. 0: the lamp shines right across it.
/// @param lamp_rad  Azimuth, in the frame of the direction.
double lean_along(double direction_rad, double lamp_rad, double elevation_rad);

/// A groove's walls are torn: they lean along it too. Up to this lean it is taken to shine, beyond
/// the other it never does.
inline constexpr double kShinesUpTo = 0.28, kNeverFrom = 0.5;

}  // namespace evenbevel::finish
