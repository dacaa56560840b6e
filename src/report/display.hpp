#pragma once

#include <Eigen/Core>

#include "evenbevel/photo.hpp"

namespace evenbevel {

/// Linear part of the way from stored to upright pixels: turns and a mirror at most.
Eigen::Matrix2d to_upright(const Photo& photo);

}  // namespace evenbevel
