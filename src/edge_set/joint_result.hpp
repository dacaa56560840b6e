#pragma once

#include <span>

#include "evenbevel/edge_view.hpp"

namespace evenbevel::edges {

/// Several photos of one clamping as one result: heights, land and facet angles come out measured.
/// What noise and geometry leave open is the joint solution's; what light and broken corners do to
/// all photos alike does not average out and stays as it was.
/// @param results  Of one blade, stages alike; two or more.
/// @throws Error  Photos of different set-ups; the photo is named.
EdgeResult measure_jointly(std::span<const EdgeResult> results, const CameraModel& camera,
                           const EdgeSettings& settings);

}  // namespace evenbevel::edges
