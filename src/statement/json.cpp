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

Json json_of(const InUnits& words) {
  if (words.mm == words.in) return words.mm;
  return {{"mm", words.mm}, {"in", words.in}};
}

void put(Json& json, const char* key, const InUnits& words) {
  if (!words.mm.empty()) json[key] = json_of(words);
}

const Json& member(const Json& object, std::string_view key) {
  static const Json none;
  if (!object.is_object()) return none;
  const auto found = object.find(key);
  return found == object.end() ? none : *found;
}

std::string text_at(const Json& object, std::string_view key) {
  const Json& text = member(object, key);
  return text.is_string() ? text.get<std::string>() : std::string();
}

InUnits words_at(const Json& object, std::string_view key) {
  const Json& words = member(object, key);
  if (words.is_string()) return words.get<std::string>();
  return {text_at(words, "mm"), text_at(words, "in")};
}

std::optional<double> number_at(const Json& object, std::string_view key) {
  const Json& number = member(object, key);
  if (!number.is_number()) return std::nullopt;
  const auto value = number.get<double>();
  return std::isfinite(value) ? std::optional(value) : std::nullopt;
}

bool flag_at(const Json& object, std::string_view key) {
  const Json& flag = member(object, key);
  return flag.is_boolean() && flag.get<bool>();
}

std::vector<Json> objects_at(const Json& object, std::string_view key) {
  std::vector<Json> all;
  const Json& array = member(object, key);
  if (!array.is_array()) return all;
  for (const Json& one : array) {
    if (one.is_object()) all.push_back(one);
  }
  return all;
}

std::string json_text(const Json& json) {
  constexpr int kIndent = 1;
  return json.dump(kIndent, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace evenbevel
