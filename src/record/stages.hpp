#pragma once

#include <string>
#include <vector>

#include "evenbevel/record.hpp"

namespace evenbevel {

/// The views a knife was seen in: edge, side, choil, then any other.
std::vector<std::string> views_of(const Knife& knife);

/// Null when there is none.
const RecordEntry* newest_entry(const Knife& knife, const std::string& stage,
                                const std::string& view);

}  // namespace evenbevel
