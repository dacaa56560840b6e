#pragma once

#include <string_view>

#include "evenbevel/words.hpp"

namespace evenbevel::words {

/// The sentence of a code with its values in braces, as sentences.cpp says it.
std::string_view sentence_of(RemarkCode code);

/// "{name}", "{name:2}", "{name:2n}", "{name:<3}".
struct Slot {
  std::string_view name = {};
  bool number = false;
  int decimals = 0;
  bool with_unit = true;  ///< Of a length. "n": its number alone.
  int first_digits = 0;   ///< "<3": as many characters, cut off and not rounded.
};

/// @param braces  Without the braces themselves.
constexpr Slot slot_of(std::string_view braces) {
  const std::size_t colon = braces.find(':');
  if (colon == std::string_view::npos) return {.name = braces};
  Slot slot{.name = braces.substr(0, colon), .number = true};
  for (const char c : braces.substr(colon + 1)) {
    if (c == 'n') slot.with_unit = false;
    if (c == '<') slot.first_digits = -1;
    if (c < '0' || c > '9') continue;
    (slot.first_digits != 0 ? slot.first_digits : slot.decimals) = c - '0';
  }
  return slot;
}

}  // namespace evenbevel::words
