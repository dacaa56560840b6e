#include "evenbevel/words.hpp"

#include <algorithm>

#include "evenbevel/printed.hpp"
#include "words/fixed.hpp"
#include "words/sentences.hpp"

namespace evenbevel {
namespace {

using words::fixed;
using words::Slot;

/// A sentence being said: its remark's values, in a unit.
class Saying {
 public:
  Saying(const Remark& remark, LengthUnit unit) : remark_(remark), unit_(unit) {}

  /// @param prefix  Before the names of the values that `text` says.
  std::string said(std::string_view text, std::string_view prefix) const {
    std::string all;
    for (std::size_t open = text.find_first_of("{["); open != std::string_view::npos;
         open = text.find_first_of("{[")) {
      all += text.substr(0, open);
      const bool choice = text[open] == '[';
      const std::size_t close = text.find(choice ? ']' : '}', open);
      const std::string_view inside = text.substr(open + 1, close - open - 1);
      all += choice ? chosen(inside, prefix) : slot_said(inside, prefix);
      text.remove_prefix(close + 1);
    }
    return all += text;
  }

 private:
  const RemarkValue* find(std::string_view prefix, std::string_view name) const {
    for (const NamedRemarkValue& value : remark_.values) {
      if (words::is_called(value.name, prefix, name)) return &value.value;
    }
    return nullptr;
  }

  /// Zero where it is missing, or no number.
  double number(std::string_view prefix, std::string_view name) const {
    const RemarkValue* value = find(prefix, name);
    const double* found = value == nullptr ? nullptr : std::get_if<double>(value);
    return found == nullptr ? 0.0 : *found;
  }

  std::string number_said(double value, const Slot& slot, std::string_view prefix) const {
    if (slot.first_digits > 0) {
      return fixed(value, 6).substr(0, static_cast<std::size_t>(slot.first_digits));
    }
    if (slot.name.ends_with("px_per_mm")) return density_words(value, slot.decimals).said(unit_);
    const bool degrees = slot.name.ends_with("_deg");
    const auto as_measured = [&](double u95) {
      return degrees ? printed_angle(value, u95) : printed_length(value, u95, unit_);
    };
    if (slot.is_U95) return as_measured(value).U95;
    if (!slot.U95_name.empty()) {
      return in_slot(as_measured(number(prefix, slot.U95_name)).value, slot);
    }
    if (!slot.name.ends_with("_mm")) return fixed(value, slot.decimals);
    if (slot.trimmed) return trimmed_length(value, unit_);
    constexpr int kFine = 2;  // decimals of a length that is an amount, not a distance
    if (unit_ == LengthUnit::thou && slot.decimals >= kFine) {
      return in_slot(format_length(value, unit_), slot);
    }
    return in_slot(length_words(value, slot.decimals).said(unit_), slot);
  }

  static std::string in_slot(std::string number, const Slot& slot) {
    if (!slot.with_unit) number.resize(number.find(' '));
    return number;
  }

  /// A remark read from a damaged file may lack a value.
  std::string slot_said(std::string_view braces, std::string_view prefix) const {
    if (braces.starts_with('@')) {
      const words::PhraseUse use = words::phrase_use(braces);
      return said(words::phrase_of(use.name), use.prefix);
    }
    const Slot slot = words::slot_of(braces);
    const RemarkValue* value = find(prefix, slot.name);
    if (value == nullptr) return "?";
    if (const auto* text = std::get_if<InUnits>(value)) return text->said(unit_);
    return number_said(std::get<double>(*value), slot, prefix);
  }

  /// The first alternative whose values are all there; nothing where there is none.
  std::string chosen(std::string_view alternatives, std::string_view prefix) const {
    while (true) {
      const std::size_t bar = alternatives.find('|');
      const std::string_view alternative = alternatives.substr(0, bar);
      if (all_there(alternative, prefix)) return said(alternative, prefix);
      if (bar == std::string_view::npos) return "";
      alternatives.remove_prefix(bar + 1);
    }
  }

  bool all_there(std::string_view text, std::string_view prefix) const {
    for (std::size_t open = text.find('{'); open != std::string_view::npos;
         open = text.find('{', open + 1)) {
      const std::size_t close = text.find('}', open);
      const Slot slot = words::slot_of(text.substr(open + 1, close - open - 1));
      if (find(prefix, slot.name) == nullptr) return false;
    }
    return true;
  }

  const Remark& remark_;
  LengthUnit unit_;
};

}  // namespace

std::string sentence(const Remark& remark, LengthUnit unit) {
  return Saying(remark, unit).said(words::sentence_of(remark.code), "");
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
