#pragma once

#include <algorithm>
#include <sstream>
#include <string>
#include <vector>

#include <nlohmann/json.hpp>

namespace evenbevel::test {

using Json = nlohmann::ordered_json;

inline std::vector<std::string> keys_of(const Json& json) {
  std::vector<std::string> names;
  for (const auto& [key, value] : json.items()) names.push_back(key);
  return names;
}

inline bool has_null(const Json& json) {
  if (json.is_null()) return true;
  return json.is_structured() && std::any_of(json.begin(), json.end(), has_null);
}

inline std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream stream(text);
  for (std::string line; std::getline(stream, line);) lines.push_back(line);
  return lines;
}

/// With the empty fields, also at the end.
inline std::vector<std::string> fields_of(const std::string& line) {
  std::vector<std::string> fields(1);
  for (const char c : line) {
    if (c == ',') {
      fields.emplace_back();
    } else {
      fields.back() += c;
    }
  }
  return fields;
}

inline std::size_t count_of(const std::string& text, const std::string& what) {
  std::size_t found = 0;
  for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + 1)) {
    ++found;
  }
  return found;
}

}  // namespace evenbevel::test
