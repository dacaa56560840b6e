#pragma once

#include <string>

namespace evenbevel {

/// With so many decimals, rounded to nearest; a minus before a zero stays.
std::string fixed(double value, int decimals);

}  // namespace evenbevel
