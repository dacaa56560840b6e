#pragma once

#include "evenbevel/camera.hpp"
#include "evenbevel/edge_view.hpp"

namespace evenbevel::edges {

/// Where a photo has shown the blade, for the other photos of the same clamping.
/// @param result  Of `edge_view`, with a pose.
SeenBlade seen_blade(const EdgeResult& result, const CameraModel& camera,
                     const EdgeSettings& settings);

}  // namespace evenbevel::edges
