#pragma once

#include <optional>

#include "evenbevel/uncertainty.hpp"
#include "evenbevel/words.hpp"

namespace evenbevel {

/// Which plunge line is nearer the tip. @param mismatch  mm; positive: the left one.
/// @return  Empty: it was not measured.
std::optional<Remark> plunge_remark(const std::optional<Measured>& mismatch);

}  // namespace evenbevel
