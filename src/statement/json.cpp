#include "statement/json.hpp"

#include <cmath>

namespace evenbevel {
namespace {

Json list_json(const std::vector<Facts>& list) {
  Json json = Json::array();
  for (const Facts& facts : list) json.push_back(json_of(facts));
  return json;
}

struct ValueJson {
  Json operator()(const Facts& part) const { return json_of(part); }
  Json operator()(const std::vector<Facts>& parts) const { return list_json(parts); }
  template <class Plain>
  Json operator()(const Plain& value) const {
    return value;
  }
};

}  // namespace

void put(Json& json, const char* key, const std::optional<double>& value, int decimals) {
  if (value && std::isfinite(*value)) json[key] = rounded(*value, decimals);
}

void put(Json& json, const char* key, const std::string& value) {
  if (!value.empty()) json[key] = value;
}

Json json_of(const Facts& facts) {
  Json json = Json::object();
  for (const auto& [name, value] : facts) json[name] = std::visit(ValueJson(), value);
  return json;
}

std::string json_text(const Json& json) {
  constexpr int kIndent = 1;
  return json.dump(kIndent, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace evenbevel
