#pragma once

#include <optional>
#include <span>

#include "inner.hpp"
#include "strip.hpp"

namespace evenbevel::edge {

/// The land followed along the blade: the likeliest path of middle and width together, by dynamic
/// programming over what each place speaks for either border. A border that hardly shows is carried
/// by the other one and by the width, which changes slowly.
/// @param colours  By `fine_strip`, one or more of the same range; a border may show in any.
/// Empty: no stretch of 12 mm or more speaks for a land.
std::optional<InnerTrace> follow_land_path(std::span<const CoarseStrip> colours, double px_per_mm,
                                           const InnerSearch& search);

}  // namespace evenbevel::edge
