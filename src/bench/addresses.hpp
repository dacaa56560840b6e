#pragma once

#include <string>
#include <vector>

namespace evenbevel::bench {

/// This computer's IPv4 addresses on its networks, those of a shop's or home's network first,
/// without bridges of virtual machines where there is another.
std::vector<std::string> network_addresses();

}  // namespace evenbevel::bench
