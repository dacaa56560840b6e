#pragma once

#include <algorithm>
#include <array>
#include <cmath>
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

/// Of a colour's parts, 0..1. WCAG 2.1, definitions of relative luminance and contrast ratio.
inline double luminance(const std::array<double, 3>& rgb) {
  constexpr std::array kWeights = {0.2126, 0.7152, 0.0722};
  double sum = 0.0;
  for (std::size_t i = 0; i < 3; ++i) {
    sum += kWeights[i] *
           (rgb[i] <= 0.03928 ? rgb[i] / 12.92 : std::pow((rgb[i] + 0.055) / 1.055, 2.4));
  }
  return sum;
}

inline double contrast(const std::array<double, 3>& a, const std::array<double, 3>& b) {
  const auto [low, high] = std::minmax({luminance(a), luminance(b)});
  return (high + 0.05) / (low + 0.05);
}

}  // namespace evenbevel::test
