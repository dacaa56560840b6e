#pragma once

#include "evenbevel/uncertainty.hpp"
#include "evenbevel/words.hpp"

namespace evenbevel {

/// Which plunge line is nearer the tip. @param mismatch_mm  Positive: the left one.
Remark plunge_remark(const Measured& mismatch_mm);

}  // namespace evenbevel
