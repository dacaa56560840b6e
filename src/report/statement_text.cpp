#include <algorithm>

#include "evenbevel/report.hpp"
#include "report/setting_words.hpp"
#include "report/text_pieces.hpp"

namespace evenbevel {
namespace {

/// The first piece of advice on the blade, or on the photo.
std::string first_advice(const Statement& statement, bool of_the_blade, LengthUnit unit) {
  const auto found = std::ranges::find_if(
      statement.advice, [&](const Remark& advice) { return on_the_blade(advice) == of_the_blade; });
  if (found == statement.advice.end()) return "";
  return text_wrapped(of_the_blade ? "do: " : "photo: ", sentence(*found, unit));
}

}  // namespace

std::string statement_text(const Statement& statement, LengthUnit unit) {
  const Glance& glance = statement.glance;
  const std::string origin = glance.origin.mm.empty() ? "" : "; " + glance.origin.said(unit);
  std::string text = text_wrapped("", glance.title.said(unit) + "; " + left_and_right() + origin);
  for (const Glance::Row& row : glance.rows) {
    text += text_row(row.label.said(unit), {row.value.said(unit), row.U95.said(unit)},
                     row.note.said(unit));
  }
  if (!glance.check.mm.empty()) text += text_wrapped("check: ", glance.check.said(unit));
  text += text_wrapped("verdict: ", glance.verdict.said(unit));
  text += first_advice(statement, true, unit) + first_advice(statement, false, unit);
  text += text_warnings(statement.warnings, unit);
  const InUnits settings = settings_words(statement);
  return settings.mm.empty() ? text : text + text_wrapped("settings: ", settings.said(unit));
}

}  // namespace evenbevel
