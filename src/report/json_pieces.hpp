#pragma once

#include <optional>
#include <string>

#include "statement/json.hpp"

namespace evenbevel {

// What is not there has no key, rather than null or zero.

void put(Json& json, const char* key, const std::optional<double>& value, int decimals = 5);
void put(Json& json, const char* key, const std::string& value);

}  // namespace evenbevel
