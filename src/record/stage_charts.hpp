#pragma once

#include <string>

#include "evenbevel/record.hpp"

namespace evenbevel {

/// The charts of a knife's quantities from stage to stage, view by view; those that no entry shows
/// are left out.
std::string stage_charts_html(const Knife& knife);

}  // namespace evenbevel
