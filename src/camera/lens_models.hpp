#pragma once

#include "evenbevel/lens.hpp"

namespace evenbevel {

const LensModel& pinhole_model();
const LensModel& fisheye_model();

}  // namespace evenbevel
