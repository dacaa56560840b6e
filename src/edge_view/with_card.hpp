#pragma once

#include "evenbevel/edge_view.hpp"

namespace evenbevel::edge {

/// The measurement once the card's pose is known. @throws Error
EdgeResult measure_with_card(const Photo& photo, const CameraModel& camera, const CardPose& pose,
                             const EdgeSettings& settings);

}  // namespace evenbevel::edge
