#include <algorithm>
#include <cmath>

#include "advice/numbers.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/record_compare.hpp"
#include "record/numbers.hpp"
#include "record/report_facts.hpp"
#include "record/stages.hpp"
#include "record/table.hpp"

namespace evenbevel {
namespace {

double factor_of(const RecordedValue& value) { return value.u > 0.0 ? value.U95 / value.u : 2.0; }

Change change_of(const RecordedValue& from, const RecordedValue& to) {
  Change change{
      .from = from, .to = to, .change = to.value - from.value, .u = std::hypot(from.u, to.u)};
  change.U95 = std::max(factor_of(from), factor_of(to)) * change.u;
  change.resolved = std::abs(change.change) > change.U95;
  return change;
}

/// As the record spells it. @throws Error
std::string known_stage(const Knife& knife, const std::string& stage) {
  std::string known;
  for (const std::string& name : knife.stages()) {
    if (same_name(name, stage)) return name;
    known += (known.empty() ? "" : ", ") + name;
  }
  throw Error("the knife " + knife.name + " has no stage called " + stage,
              known.empty() ? "add a report of that stage first" : "its stages are: " + known);
}

ViewComparison compare_entries(Record& record, const RecordEntry& from, const RecordEntry& to) {
  ViewComparison result{.from = from, .to = to};
  for (const RecordedValue& value : in_report_order(from.values)) {
    const RecordedValue* later = find_value(to, value.name, value.at);
    if (later != nullptr) result.changes.push_back(change_of(value, *later));
  }
  result.steel = steel_between(record.statement(from), record.statement(to));
  return result;
}

/// Why steel may seem to have come back.
std::string came_back(const Steel& steel) {
  const std::string face = steel.face ? std::string(name(*steel.face)) : "";
  switch (steel.kind) {
    case SteelKind::edge:
      return "The land's border on the " + face +
             " face moved outward: the edge was ground lower in between, or one of the two photos "
             "misled the measurement.";
    case SteelKind::bevel_line:
      return "The bevel line on the " + face +
             " face stands lower than before, and steel cannot come back: the order of the stages "
             "or one of the two measurements is wrong, or the spine was ground.";
    case SteelKind::behind_edge:
      return "Behind the edge the section is thicker than before: the edge was ground back in "
             "between (a depth counts from the edge as it is), or one of the two measurements is "
             "wrong.";
    case SteelKind::edge_line:
      break;
  }
  return "";
}

std::vector<std::string> remarks_on(const std::vector<ViewComparison>& views) {
  std::vector<Steel> all;
  for (const ViewComparison& view : views) {
    all.insert(all.end(), view.steel.begin(), view.steel.end());
  }
  return steel_remarks(all);
}

std::string change_cell(const Change& change, LengthUnit unit) {
  RecordedValue shown = change.to;
  shown.name += is_signed_name(shown.name) ? "" : "_difference";  // a change always has its sign
  shown.value = change.change;
  shown.u = change.u;
  shown.U95 = change.U95;
  const Printed number = printed_value(shown, unit);
  const bool no_sign = is_angle_name(shown.name) || over_area_kind(shown.name).has_value();
  const bool plus = no_sign && !number.value.starts_with('-');
  return (plus ? "+" : "") + number.value + "  U95 " + number.U95 +
         (change.resolved ? "" : "  not resolved");
}

/// Each entry's own x = 0, and how far back from its tip that is, where an x was compared.
std::string origins_text(const ViewComparison& view, LengthUnit unit) {
  const bool places = std::ranges::any_of(
      view.changes, [](const Change& change) { return is_place_name(change.to.name); });
  if (!places) return "";
  const auto words = [&](const RecordEntry& entry) {
    const std::string tip =
        entry.tip_x_mm ? ", " + printed_position(*entry.tip_x_mm, unit) + " from the tip" : "";
    return origin_words(entry) + tip;
  };
  if (words(view.from) == words(view.to)) return "  " + words(view.to) + "; plus to the tip\n";
  return "  entry " + std::to_string(view.from.id) + ": " + words(view.from) + "; entry " +
         std::to_string(view.to.id) + ": " + words(view.to) + "; plus to the tip\n";
}

std::string steel_cell(const Steel& steel, LengthUnit unit) {
  const RecordedValue value{"steel_difference", 0.0, steel.value_mm, steel.u_mm, steel.U95_mm};
  const Printed number = printed_value(value, unit);
  return number.value + "  U95 " + number.U95 + (steel.resolved ? "" : "  not resolved");
}

}  // namespace

std::string steel_label(const Steel& steel, LengthUnit unit) {
  const std::string face =
      steel.face ? ", " + std::string(name(*steel.face)) + " face" : ", both faces";
  switch (steel.kind) {
    case SteelKind::edge:
      return "taken off the edge" + face;
    case SteelKind::edge_line:
      return "edge outside its scribe line" + face;
    case SteelKind::bevel_line:
      return "bevel line gone up" + face;
    case SteelKind::behind_edge:
      return "taken off " + trimmed_length(steel.at_mm, unit) + " behind the edge" + face;
  }
  return "";
}

std::vector<std::string> steel_remarks(std::span<const Steel> steel) {
  std::vector<std::string> remarks;
  for (const Steel& one : steel) {
    if (!one.resolved || one.value_mm > 0.0) continue;
    const std::string remark = came_back(one);
    const bool said = std::ranges::find(remarks, remark) != remarks.end();
    if (!remark.empty() && !said) remarks.push_back(remark);
  }
  return remarks;
}

Comparison compare_stages(Record& record, const std::string& knife_name,
                          const std::string& from_stage, const std::string& to_stage) {
  const Knife knife = record.knife(knife_name);
  Comparison result{.knife = knife.name,
                    .from_stage = known_stage(knife, from_stage),
                    .to_stage = known_stage(knife, to_stage)};
  if (result.from_stage == result.to_stage) {
    throw Error("--from and --to name the same stage", "give two stages of the knife");
  }
  for (const std::string& view : views_of(knife)) {
    const RecordEntry* from = newest_entry(knife, result.from_stage, view);
    const RecordEntry* to = newest_entry(knife, result.to_stage, view);
    if (from != nullptr && to != nullptr) {
      result.views.push_back(compare_entries(record, *from, *to));
    }
  }
  if (result.views.empty()) {
    throw Error(
        "no view was measured at both stages, " + result.from_stage + " and " + result.to_stage,
        "compare stages that were seen from the same side");
  }
  result.remarks = remarks_on(result.views);
  return result;
}

std::string comparison_text(const Comparison& comparison, LengthUnit unit) {
  std::string text =
      comparison.knife + "   " + comparison.from_stage + " to " + comparison.to_stage + "\n";
  for (const ViewComparison& view : comparison.views) {
    text += "\n" + view.to.view + " view   entry " + std::to_string(view.from.id) + " to entry " +
            std::to_string(view.to.id) + "\n";
    std::vector<std::vector<std::string>> rows = {
        {"  ", comparison.from_stage, comparison.to_stage, "change"}};
    for (const Change& change : view.changes) {
      const bool nowhere = is_place_name(change.to.name) && !same_origin(view.from, view.to);
      rows.push_back(
          {"  " + label_of(change.to, unit), printed_value(change.from, unit).value,
           printed_value(change.to, unit).value,
           nowhere ? "not to be told: x = 0 is another place" : change_cell(change, unit)});
    }
    text += table_text(rows) + origins_text(view, unit);
    rows.clear();
    for (const Steel& steel : view.steel) {
      rows.push_back({"  " + steel_label(steel, unit), steel_cell(steel, unit)});
    }
    if (!rows.empty()) text += "\n" + table_text(rows);
  }
  for (const std::string& remark : comparison.remarks) text += "\n" + remark + "\n";
  return text;
}

}  // namespace evenbevel
