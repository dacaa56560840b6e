#pragma once

#include <optional>
#include <utility>

#include "card_look.hpp"
#include "evenbevel/card.hpp"
#include "evenbevel/edge_view.hpp"
#include "locate.hpp"
#include "strip.hpp"

namespace evenbevel::edge {

// First step: the photo's part with the lane, its frame, and what borders are sought in it.

inline constexpr double kUsualEdgeHeightMm = 5.0;  ///< Set-up: 2-10 mm proud of the card.

struct LanePicture {
  StripFrame on_lane;  ///< At the height where rims are sought.
  LaneImage image;
  LaneImage as_stored;                   ///< Its sharpening not taken back.
  std::pair<double, double> stretch_mm;  ///< Of the lane, s, that lies in the picture.
  double px_per_mm = 0.0;                ///< At its middle.
  std::optional<CardLook> look;          ///< Of the printed borders, where they can be read.
};

/// @throws Error  Too little of the lane is in the picture, or it is too small.
LanePicture lane_picture(const Photo& photo, const CameraModel& camera, const CardPose& pose,
                         const EdgeSettings& settings);

/// Reads how the card's printed borders look, and takes the camera's sharpening back.
/// @throws Error  They are too soft.
void look_at_card(LanePicture& lane, const Photo& photo, const CameraModel& camera,
                  const CardPose& pose);

/// How far apart and where the flats' rims may lie.
FlatsSearch flats_search(const LanePicture& lane, const CameraModel& camera, const CardPose& pose,
                         const EdgeSettings& settings);

/// The photo's part with the lane, from the card up to the other frame's height.
cv::Rect lane_region(const StripFrame& on_card, const StripFrame& above, cv::Size size);

/// The stretch of the lane that lies in the picture, s in mm.
std::pair<double, double> visible_stretch(const StripFrame& frame, cv::Size size);

}  // namespace evenbevel::edge
