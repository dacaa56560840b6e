#include <algorithm>
#include <array>

#include "evenbevel/report.hpp"
#include "report/chart.hpp"
#include "report/page.hpp"
#include "report/setting_words.hpp"
#include "report/statement_tables.hpp"
#include "report/verdict.hpp"

namespace evenbevel {
namespace {

Verdict verdict_named(std::string_view wanted) {
  for (const Verdict verdict : {Verdict::within, Verdict::outside, Verdict::unresolved}) {
    if (name(verdict) == wanted) return verdict;
  }
  return Verdict::none;
}

LengthUnit display_unit(const Statement& statement) {
  const std::string unit = statement.provenance.settings.text("display_unit");
  return unit == "in" || unit == "thou" ? LengthUnit::inch : LengthUnit::mm;
}

bool flagged(const Facts& facts, std::string_view fact) {
  const FactValue* value = facts.find(fact);
  const auto* flag = value == nullptr ? nullptr : std::get_if<bool>(value);
  return flag != nullptr && *flag;
}

/// Of several photos as one, the table of them says which was turned.
std::vector<std::string> photo_names(const Statement& statement) {
  std::vector<std::string> names;
  const auto several = std::ranges::find(statement.tables, "photos", &StatedTable::name);
  if (several != statement.tables.end()) {
    for (const StatedPlace& photo : several->places) {
      names.push_back(photo.at.text("photo") + (flagged(photo.at, "turned") ? " (turned)" : ""));
    }
    return names;
  }
  for (const StatedPhoto& photo : statement.provenance.photos) names.push_back(photo.name);
  return names;
}

std::string joined(const std::vector<std::string>& names) {
  std::string all;
  for (const std::string& name : names) all += (all.empty() ? "" : ", ") + name;
  return all;
}

InUnits as_sentence(const InUnits& words) { return {sentence(words.mm), sentence(words.in)}; }

std::vector<InUnits> advice_on(const Statement& statement, bool the_blade) {
  std::vector<InUnits> all;
  for (const Remark& advice : statement.advice) {
    if (on_the_blade(advice) == the_blade) all.push_back(sentence(advice));
  }
  return all;
}

std::string first_advice(const Statement& statement) {
  const std::vector<InUnits> advice = advice_on(statement, true);
  return advice.empty() ? "" : "<p class=\"first\">" + escaped(advice.front()) + "</p>\n";
}

std::string more_advice(const Statement& statement) {
  std::vector<InUnits> advice = advice_on(statement, true);
  if (!advice.empty()) advice.erase(advice.begin());
  return list(advice);
}

std::string numbers(const Statement& statement) {
  const Glance& glance = statement.glance;
  const std::string origin =
      glance.origin.mm.empty() ? "" : " " + escaped(as_sentence(glance.origin));
  const std::string verdict =
      glance.verdict.mm.empty()
          ? ""
          : "<p>" + escaped(as_sentence("verdict: " + glance.verdict)) + "</p>\n";
  const std::string measured = summary_table(statement) + "<p class=\"quiet\">" +
                               escaped(sentence(left_and_right())) + origin + "</p>\n" + verdict;
  return section("And then", more_advice(statement), kPlainOnPaper) +
         section("Behind the edge", depths_table(statement)) +
         section("Measured", measured, kPlainOnPaper) +
         section("Warnings", list(sentences(statement.warnings)));
}

QuantityKind kind_of_curve(const Statement& statement, const StatedChart& chart) {
  const auto column = std::ranges::find_if(statement.columns, [&](const StationColumn& one) {
    return one.kind == StationColumn::Kind::quantity && one.what == chart.curves.front().quantity;
  });
  return column == statement.columns.end() ? QuantityKind::length : column->number;
}

std::string drawn(const StatedChart& declared, const Statement& statement) {
  if (declared.curves.empty()) return "";
  const bool depth = statement.along == "depth";
  Chart chart{.name = declared.name,
              .x_name = depth ? "depth behind the edge" : "x to the tip",
              .y_name = declared.y_name,
              .x_word = statement.along,
              .curves = {},
              .kind = kind_of_curve(statement, declared),
              .slots = {},
              .worst_x_mm = declared.worst_at_mm,
              .zero_words = declared.zero,
              .plus_down = declared.plus_down};
  if (declared.judged) chart.tolerance_mm = statement.provenance.settings.number("tolerance");
  for (const StatedChart::Curve& curve : declared.curves) chart.curves.push_back(curve.label);
  for (const StatedStation& station : statement.stations) {
    ChartSlot& slot = chart.slots.emplace_back(ChartSlot{.x_mm = station.at_mm, .y_mm = {}});
    for (const StatedChart::Curve& curve : declared.curves) {
      const StatedQuantity* quantity = find(station.quantities, curve.quantity);
      slot.y_mm.push_back(quantity == nullptr ? std::nullopt : std::optional(quantity->value));
    }
  }
  return section(declared.title, chart_html(chart));
}

std::string charts(const Statement& statement) {
  std::string html;
  for (const StatedChart& chart : statement.charts) html += drawn(chart, statement);
  return html;
}

std::string tables(const Statement& statement) {
  std::string html;
  for (const StatedTable& table : statement.tables) {
    if (table.title.empty()) continue;
    html += section(table.title, places_table(table, statement), kScreenOnly);
  }
  return html;
}

std::string budget(const Statement& statement) {
  const InUnits& check = statement.glance.check;
  return budget_tables(statement) +
         (check.mm.empty() ? "" : "<p>" + escaped(as_sentence(check)) + "</p>\n");
}

InUnits camera_said(const Facts& camera) {
  const std::string file = camera.text("file");
  if (file.empty()) return "no camera file: a guess, and a wider uncertainty";
  const std::string hash = camera.text("sha256");
  return file + (hash.empty() ? "" : ", SHA-256 " + hash);
}

InUnits card_said(const Facts& card) {
  if (flagged(card, "quick_look")) return "none (quick look): the thickness is the ruler";
  if (!card.number("corners_used")) return "";
  const auto count = [&](const char* of) {
    return std::to_string(std::lround(card.number(of).value_or(0.0)));
  };
  const std::string print = card.text("print_scale_from");
  return card.text("kind") + " card, " + count("corners_used") + " corners used of " +
         count("corners_found") + " found" + (print.empty() ? "" : ", print scale " + print);
}

InUnits seen_said(const Facts& quality) {
  const std::optional<double> coverage = quality.number("coverage");
  return coverage ? percent(*coverage) : "";
}

/// Facts of the one photo, or one part a face.
std::string face_facts(const std::string& label, const Facts& all, InUnits (*said)(const Facts&)) {
  std::string rows;
  for (const char* face : {"left", "right"}) {
    const Facts& part = all.part(face);
    if (!part.empty()) rows += fact(label + ", " + face + " face", said(part));
  }
  return rows.empty() && !all.empty() ? fact(label, said(all)) : rows;
}

struct LengthSetting {
  const char* name;
  const char* label;
};

std::string settings_facts(const Facts& settings) {
  static constexpr std::array kShown = {
      LengthSetting{"thickness", "stock thickness"},
      LengthSetting{"tip_thickness", "thickness at the tip"}, LengthSetting{"land", "land"},
      LengthSetting{"step", "stations every"}, LengthSetting{"tolerance", "tolerance"}};
  std::string rows;
  for (const auto& [name, label] : kShown) {
    const std::optional<double> mm = settings.number(name);
    if (!mm) continue;
    const std::optional<double> u_mm = settings.number(std::string(name) + "_u");
    rows +=
        fact(label, in_units([&](LengthUnit unit) {
               return format_length(*mm, unit) + (u_mm ? ", u " + format_length(*u_mm, unit) : "");
             }));
  }
  return rows;
}

InUnits outlines_said(const Facts& outlines) {
  return in_units([&](LengthUnit unit) {
    return format_length(outlines.number("rms").value_or(0.0), unit) + " apart (RMS), " +
           format_length(outlines.number("worst").value_or(0.0), unit) + " at most";
  });
}

std::string how_it_was_measured(const Statement& statement) {
  const Provenance& from = statement.provenance;
  std::string rows = fact("program", "evenbevel " + from.version);
  rows += fact("command", from.command_line);
  rows += fact("photo", joined(photo_names(statement)));
  rows += face_facts("camera", from.camera, camera_said);
  rows += face_facts("card", from.card, card_said);
  rows += face_facts("seen", from.photo_quality, seen_said);
  const Facts& outlines = statement.more.part("outlines");
  if (!outlines.empty()) rows += fact("outlines laid over each other", outlines_said(outlines));
  rows += settings_facts(from.settings);
  const InUnits settings = settings_words(statement);
  if (!settings.mm.empty()) rows += fact("settings from", settings);
  return facts(rows);
}

PageHead head_of(const Statement& statement) {
  const Glance& glance = statement.glance;
  // A report of an earlier version has neither.
  const std::string title = glance.title.mm.empty() ? statement.view + " view" : glance.title.mm;
  return {.verdict = verdict_named(statement.verdict),
          .headline = glance.headline.mm.empty() ? InUnits(statement.verdict) : glance.headline,
          .what = sentence(title),
          .photos = photo_names(statement),
          .unit = display_unit(statement)};
}

}  // namespace

std::string statement_page(const Statement& statement, const PagePicture& picture) {
  std::string main = section("What to do", first_advice(statement));
  main += sheet(figure(picture, display_unit(statement)), numbers(statement), charts(statement));
  main += tables(statement);
  main += section("A better photo", list(advice_on(statement, false)), kScreenOnly);
  main += section("How to read it", list(statement.glance.how_to_read), kScreenOnly);
  main += section("Where the uncertainty comes from", budget(statement), kScreenOnly);
  main += section("Stations", stations_table(statement), kScreenOnly);
  main += section("How it was measured", how_it_was_measured(statement));
  return page_html(head_of(statement), main + cautions_html());
}

}  // namespace evenbevel
