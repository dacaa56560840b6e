#pragma once

#include "evenbevel/edge_view.hpp"

namespace evenbevel::edges {

/// The same photo read with the tip at the other end: left and right change places.
EdgeResult mirrored(const EdgeResult& result);

}  // namespace evenbevel::edges
