#include "report/json_pieces.hpp"

#include <cmath>

namespace evenbevel {

void put(Json& json, const char* key, const std::optional<double>& value, int decimals) {
  if (value && std::isfinite(*value)) json[key] = rounded(*value, decimals);
}

void put(Json& json, const char* key, const std::string& value) {
  if (!value.empty()) json[key] = value;
}

}  // namespace evenbevel
