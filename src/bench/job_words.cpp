#include "bench/job_words.hpp"

namespace evenbevel::bench {

using nlohmann::json;

json words_of(const Statement& statement, LengthUnit unit) {
  const Glance& glance = statement.glance;
  json rows = json::array();
  for (const Glance::Row& row : glance.rows) {
    rows.push_back({{"label", row.label.said(unit)},
                    {"value", row.value.said(unit)},
                    {"U95", row.U95.said(unit)},
                    {"note", row.note.said(unit)}});
  }
  json blade = json::array(), photo = json::array(), warnings = json::array();
  for (const Remark& advice : statement.advice) {
    (on_the_blade(advice) ? blade : photo).push_back(sentence(advice, unit));
  }
  for (const Remark& warning : statement.warnings) warnings.push_back(sentence(warning, unit));
  return {{"headline", glance.headline.said(unit)},
          {"title", glance.title.said(unit)},
          {"verdict", statement.verdict},
          {"verdict_words", glance.verdict.said(unit)},
          {"rows", rows},
          {"next", blade},
          {"better_photo", photo},
          {"warnings", warnings}};
}

json words_of(const Error& error, LengthUnit unit) {
  return {{"wrong", error.what_is_wrong().said(unit)}, {"todo", error.what_to_do().said(unit)}};
}

std::string text_of(const json& value) {
  return value.dump(-1, ' ', false, json::error_handler_t::replace);
}

}  // namespace evenbevel::bench
