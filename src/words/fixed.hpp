#pragma once

#include <string>

namespace evenbevel::words {

/// With so many decimals, and no minus before a zero.
std::string fixed(double amount, int decimals);

}  // namespace evenbevel::words
