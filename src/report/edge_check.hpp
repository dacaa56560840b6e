#pragma once

#include <string>

#include "evenbevel/edge_view.hpp"
#include "evenbevel/statement.hpp"

namespace evenbevel {

// The Monte Carlo check beside the law of propagation; nothing where none was asked for.

/// One sentence: for which quantities the two agree, and to how much.
std::string check_sentence(const EdgeResult& result);

/// Both intervals of each quantity.
StatedTable checks_table(const EdgeResult& result);

}  // namespace evenbevel
