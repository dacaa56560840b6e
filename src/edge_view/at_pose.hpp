#pragma once

#include <utility>

#include "evenbevel/edge_view.hpp"
#include "strip.hpp"

namespace evenbevel::edge {

struct StandIn;

inline constexpr double kUsualEdgeHeightMm = 5.0;  ///< Set-up: 2-10 mm proud of the card.

/// The measurement once the card's pose is known, or its stand-in's.
EdgeResult measure_at_pose(const Photo& photo, const CameraModel& camera, const CardPose& pose,
                           const EdgeSettings& settings, const StandIn* stand_in = nullptr);

/// The photo's part with the lane, from the card up to the other frame's height.
cv::Rect lane_region(const StripFrame& on_card, const StripFrame& above, cv::Size size);

/// The stretch of the lane that lies in the picture, s in mm.
std::pair<double, double> visible_stretch(const StripFrame& frame, cv::Size size);

}  // namespace evenbevel::edge
