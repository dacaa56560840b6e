#pragma once

#include <array>
#include <string_view>

#include "evenbevel/words.hpp"

namespace evenbevel::words {

/// The sentence of a code with its values in braces, as sentences.cpp says it.
std::string_view sentence_of(RemarkCode code);

/// Part of many sentences, with its own values in braces.
struct Phrase {
  std::string_view name;
  std::string_view text;
};
std::string_view phrase_of(std::string_view name);

/// What stands between braces.
struct Slot {
  std::string_view name = {};
  bool number = false;
  int decimals = 0;
  bool with_unit = true;           ///< Of a length. "n": its number alone.
  bool trimmed = false;            ///< "t": a length without zeros at its end.
  int first_digits = 0;            ///< "<3": as many characters, cut off and not rounded.
  std::string_view U95_name = {};  ///< "~U95_mm": to the place of that uncertainty.
  bool is_U95 = false;             ///< "U": an uncertainty itself.
};

/// @param braces  "name", "name:2", "name:2n", "name:3t", "name:<3", "name:~U95_mm",
///                "name:~U95_mm,n" or "name:U", without the braces themselves.
constexpr Slot slot_of(std::string_view braces) {
  const std::size_t colon = braces.find(':');
  if (colon == std::string_view::npos) return {.name = braces};
  Slot slot{.name = braces.substr(0, colon), .number = true};
  std::string_view format = braces.substr(colon + 1);
  if (format.starts_with('~')) {
    slot.with_unit = !format.ends_with(",n");
    slot.U95_name = format.substr(1, format.find(',') - 1);
    return slot;
  }
  for (const char c : format) {
    if (c == 'n') slot.with_unit = false;
    if (c == 't') slot.trimmed = true;
    if (c == 'U') slot.is_U95 = true;
    if (c == '<') slot.first_digits = -1;
    if (c < '0' || c > '9') continue;
    (slot.first_digits != 0 ? slot.first_digits : slot.decimals) = c - '0';
  }
  return slot;
}

/// Whether `value` is called `name` with the prefix of the phrase that says it.
constexpr bool is_called(std::string_view value, std::string_view prefix, std::string_view name) {
  return value.starts_with(prefix) && value.substr(prefix.size()) == name;
}

/// "@cut:left_": the phrase, with a prefix before the names of its values.
struct PhraseUse {
  std::string_view name;
  std::string_view prefix;
};
constexpr PhraseUse phrase_use(std::string_view braces) {
  const std::size_t colon = braces.find(':');
  if (colon == std::string_view::npos) return {braces.substr(1), {}};
  return {braces.substr(1, colon - 1), braces.substr(colon + 1)};
}

}  // namespace evenbevel::words
