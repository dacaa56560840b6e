#pragma once

#include "evenbevel/edge_view.hpp"

namespace evenbevel::edge {

/// The quick look: the stock thickness is the ruler. @throws Error
EdgeResult measure_without_card(const Photo& photo, const CameraModel& camera,
                                const EdgeSettings& settings);

}  // namespace evenbevel::edge
