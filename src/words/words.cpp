#include "evenbevel/words.hpp"

#include <algorithm>
#include <cstdio>

#include "words/sentences.hpp"

namespace evenbevel {
namespace {

using words::Slot;

std::string fixed(double value, int decimals) {
  std::array<char, 400> digits{};  // the largest double has 309 digits before the point
  const int length = std::snprintf(digits.data(), digits.size(), "%.*f", decimals, value);
  return {digits.data(), static_cast<std::size_t>(length)};
}

std::string number_said(double value, const Slot& slot, LengthUnit unit) {
  if (slot.first_digits > 0) {
    return fixed(value, 6).substr(0, static_cast<std::size_t>(slot.first_digits));
  }
  if (slot.name.ends_with("px_per_mm")) return density_words(value, slot.decimals).said(unit);
  if (!slot.name.ends_with("_mm")) return fixed(value, slot.decimals);
  std::string length = length_words(value, slot.decimals).said(unit);
  if (!slot.with_unit) length.resize(length.find(' '));
  return length;
}

/// A remark read from a damaged file may lack a value.
std::string value_said(const Remark& remark, const Slot& slot, LengthUnit unit) {
  const auto found = std::ranges::find(remark.values, slot.name, &NamedRemarkValue::name);
  if (found == remark.values.end()) return "?";
  if (const auto* text = std::get_if<InUnits>(&found->value)) return text->said(unit);
  return number_said(std::get<double>(found->value), slot, unit);
}

}  // namespace

std::string sentence(const Remark& remark, LengthUnit unit) {
  std::string said;
  std::string_view rest = words::sentence_of(remark.code);
  for (std::size_t open = rest.find('{'); open != std::string_view::npos; open = rest.find('{')) {
    const std::size_t close = rest.find('}', open);
    said += rest.substr(0, open);
    said += value_said(remark, words::slot_of(rest.substr(open + 1, close - open - 1)), unit);
    rest.remove_prefix(close + 1);
  }
  return said += rest;
}

InUnits sentence(const Remark& remark) {
  return in_units([&](LengthUnit unit) { return sentence(remark, unit); });
}

std::vector<std::string> sentences(std::span<const Remark> remarks, LengthUnit unit) {
  std::vector<std::string> all;
  all.reserve(remarks.size());
  for (const Remark& remark : remarks) all.push_back(sentence(remark, unit));
  return all;
}

std::vector<InUnits> sentences(std::span<const Remark> remarks) {
  std::vector<InUnits> all;
  all.reserve(remarks.size());
  for (const Remark& remark : remarks) all.push_back(sentence(remark));
  return all;
}

bool says_the_same(const Remark& a, const Remark& b) {
  return sentence(a, LengthUnit::mm) == sentence(b, LengthUnit::mm);
}

void add_new(std::vector<Remark>& remarks, std::span<const Remark> more) {
  for (const Remark& remark : more) {
    const auto said = [&](const Remark& other) { return says_the_same(other, remark); };
    if (std::none_of(remarks.begin(), remarks.end(), said)) remarks.push_back(remark);
  }
}

}  // namespace evenbevel
