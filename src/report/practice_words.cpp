#include "report/practice_words.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace evenbevel {
namespace {

using enum PracticeCheckKind;

constexpr std::array kPracticeNames = {
    QuantityName{"offset_handle", "offset, handle end", QuantityKind::signed_length},
    QuantityName{"offset_middle", "offset, middle", QuantityKind::signed_length},
    QuantityName{"offset_tip", "offset, tip end", QuantityKind::signed_length},
    QuantityName{"rim_distance", "rim to rim"},
    QuantityName{"line_gap", "line to line"},
    QuantityName{"plunge_mismatch", "plunge mismatch, left - right", QuantityKind::signed_length},
    QuantityName{"printed_bar", "printed bar"},
};

constexpr std::array kOffsets = {offset_handle, offset_middle, offset_tip};

/// The one farthest outside; null: all are inside or not measured.
const PracticeCheck* worst_outside(const PracticeResult& result,
                                   std::span<const PracticeCheckKind> kinds) {
  const PracticeCheck* worst = nullptr;
  for (const PracticeCheckKind kind : kinds) {
    const PracticeCheck* check = find(result.checks, kind);
    if (check == nullptr || check->inside()) continue;
    const auto share = [](const PracticeCheck& c) {
      return std::abs(c.difference_mm()) / U95(c.measured_mm);
    };
    if (worst == nullptr || share(*check) > share(*worst)) worst = check;
  }
  return worst;
}

const PracticeCheck* outside(const PracticeResult& result, PracticeCheckKind kind) {
  return worst_outside(result, std::array{kind});
}

Printed size_of(const PracticeCheck& check, LengthUnit unit) {
  return printed_length(std::abs(check.difference_mm()), U95(check.measured_mm), unit);
}

const char* wider(const PracticeCheck& check) {
  return check.difference_mm() > 0.0 ? "wider" : "narrower";
}

std::string tenths(double value) {
  std::string text = std::to_string(std::round(10.0 * value) / 10.0);
  return text.substr(0, text.find('.') + 2);
}

std::string percent_off(const PracticeResult& result) {
  const double off = result.print_off_percent;
  return tenths(std::abs(off)) + " % " + (off > 0.0 ? "large" : "small");
}

std::string length_tenths(double mm, LengthUnit unit) { return length_words(mm, 1).said(unit); }

/// What is wrong, the weightiest first.
std::vector<std::string> faults(const PracticeResult& result, LengthUnit unit) {
  std::vector<std::string> all;
  if (outside(result, printed_bar) != nullptr) all.push_back("printed " + percent_off(result));
  if (result.paper_is_bent()) all.push_back("paper bent by " + length_tenths(result.bend_mm, unit));
  if (result.photo_is_soft()) all.emplace_back("photo soft");
  const auto add = [&](const PracticeCheck* check, const std::string& what) {
    if (check == nullptr) return;
    all.push_back(what + " read " + size_of(*check, unit).value + " off (U95 " +
                  size_of(*check, unit).U95 + ")");
  };
  add(worst_outside(result, kOffsets), "offset");
  add(outside(result, rim_distance), "rim to rim");
  add(outside(result, line_gap), "line to line");
  add(outside(result, plunge_mismatch), "plunge mismatch");
  return all;
}

std::string all_faults(const std::vector<std::string>& parts) {
  std::string all;
  for (const std::string& part : parts) all += (all.empty() ? "" : "; ") + part;
  return all;
}

/// Units stay as they are written.
std::string in_capitals(std::string text) {
  const auto is_unit = [](std::string word) {
    word = word.substr(0, word.find_last_not_of(").;,") + 1);
    return word == "mm" || word == "in" || word == "thou";
  };
  for (std::size_t begin = 0, end = 0; begin < text.size(); begin = end + 1) {
    end = std::min(text.find(' ', begin), text.size());
    if (is_unit(text.substr(begin, end - begin))) continue;
    for (std::size_t i = begin; i < end; ++i) {
      if (text[i] >= 'a' && text[i] <= 'z') text[i] = static_cast<char>(text[i] - 32);
    }
  }
  return text;
}

void add_widths(std::vector<Remark>& all, const PracticeCheck* check, const char* what) {
  if (check == nullptr) return;
  all.push_back(remark<RemarkCode::practice_widths_off>(what, std::abs(check->difference_mm()),
                                                        wider(*check), U95(check->measured_mm)));
}

}  // namespace

std::span<const QuantityName> practice_quantity_names() { return kPracticeNames; }

const QuantityName& name_of(PracticeCheckKind kind) {
  return kPracticeNames[static_cast<std::size_t>(kind)];
}

std::string practice_note(const PracticeCheck& check, LengthUnit unit) {
  const bool sign = name_of(check.kind).kind == QuantityKind::signed_length;
  const std::string printed =
      sign ? format_signed_length(check.printed_mm, unit) : format_length(check.printed_mm, unit);
  return "printed " + printed + ", off " + format_signed_length(check.difference_mm(), unit) +
         (check.inside() ? ": inside" : ": OUTSIDE");
}

std::string practice_headline(const PracticeResult& result, LengthUnit unit) {
  const std::vector<std::string> wrong = faults(result, unit);
  if (!wrong.empty()) return in_capitals(all_faults(wrong));
  return "THE CHAIN HOLDS: " + std::to_string(result.checks.size()) + " of " +
         std::to_string(result.checks.size()) + " numbers inside";
}

std::string practice_verdict_sentence(const PracticeResult& result, LengthUnit unit) {
  const std::vector<std::string> wrong = faults(result, unit);
  const auto inside = std::ranges::count_if(result.checks, &PracticeCheck::inside);
  const std::string count = std::to_string(inside) + " of " + std::to_string(result.checks.size()) +
                            " printed numbers inside their intervals";
  return wrong.empty() ? "the chain holds: " + count : all_faults(wrong) + "; " + count;
}

std::vector<Remark> practice_advice(const PracticeResult& result) {
  std::vector<Remark> all;
  if (const PracticeCheck* bar = outside(result, printed_bar)) {
    all.push_back(remark<RemarkCode::practice_print_size>(
        std::abs(result.print_off_percent), result.print_off_percent > 0.0 ? "large" : "small",
        bar->printed_mm, bar->measured_mm.value));
  }
  if (result.paper_is_bent()) {
    all.push_back(remark<RemarkCode::practice_paper_bent>(result.bend_mm));
  }
  if (result.photo_is_soft()) {
    all.push_back(remark<RemarkCode::practice_photo_soft>(result.as_blade.blur_px));
  }
  if (const PracticeCheck* offset = worst_outside(result, kOffsets)) {
    all.push_back(remark<RemarkCode::practice_offset_off>(std::abs(offset->difference_mm()),
                                                          U95(offset->measured_mm)));
  }
  add_widths(all, outside(result, rim_distance), "the distance from rim to rim");
  add_widths(all, outside(result, line_gap), "the distance from line to line");
  if (const PracticeCheck* plunges = outside(result, plunge_mismatch)) {
    all.push_back(remark<RemarkCode::practice_plunges_off>(std::abs(plunges->difference_mm()),
                                                           U95(plunges->measured_mm)));
  }
  if (all.empty()) {
    all.push_back(remark<RemarkCode::practice_holds>(static_cast<double>(result.checks.size())));
  }
  return all;
}

}  // namespace evenbevel
