#include "report/statement_tables.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>

#include "report/page.hpp"
#include "report/quantities.hpp"
#include "units/fixed.hpp"

namespace evenbevel {
namespace {

/// Where nothing was declared, as in a report of an earlier version.
InUnits label_of(const Statement& statement, const std::string& id) {
  if (const DeclaredQuantity* declared = find(statement.declared, id)) return declared->label;
  std::string words = id;
  std::ranges::replace(words, '_', ' ');
  return words;
}

QuantityKind kind_of(const Statement& statement, const std::string& id) {
  const DeclaredQuantity* declared = find(statement.declared, id);
  return declared == nullptr ? QuantityKind::length : declared->kind;
}

InUnits shown(QuantityKind kind, const Stated& value, const std::string Printed::*part) {
  return in_units([&](LengthUnit unit) { return printed(kind, value, unit).*part; });
}

/// Without its unit, which the table says once.
InUnits bare(const InUnits& words) {
  return {words.mm.substr(0, words.mm.find(' ')), words.in.substr(0, words.in.find(' '))};
}

std::string cell(const std::string& html) { return "<td>" + html + "</td>"; }
std::string row_head(const std::string& html) { return "<th scope=\"row\">" + html + "</th>"; }

/// Empty: not seen.
std::string number_html(const StatedQuantity* quantity, QuantityKind kind) {
  if (quantity == nullptr) return "";
  return escaped(bare(shown(kind, quantity->value, &Printed::value))) + " <small>&plusmn; " +
         escaped(bare(shown(kind, quantity->value, &Printed::U95))) + "</small>";
}

std::string position_html(double at_mm) { return escaped(bare(length_in_units(at_mm))); }

std::string summary_row(const StatedQuantity& quantity, const Statement& statement) {
  const QuantityKind kind = kind_of(statement, quantity.id);
  const std::string note =
      quantity.note.mm.empty() ? "" : "<br><span>" + escaped(quantity.note) + "</span>";
  return "<tr role=\"row\"><th scope=\"row\" role=\"rowheader\">" +
         escaped(label_of(statement, quantity.id)) + "</th><td role=\"cell\" class=\"value\">" +
         escaped(shown(kind, quantity.value, &Printed::value)) +
         "</td><td role=\"cell\" class=\"u\">U95 " +
         escaped(shown(kind, quantity.value, &Printed::U95)) + note + "</td></tr>\n";
}

struct FactHtml {
  const Statement& statement;

  std::string operator()(double mm) const { return position_html(mm); }
  std::string operator()(std::int64_t count) const { return std::to_string(count); }
  std::string operator()(const std::string& text) const {
    return escaped(label_of(statement, text));
  }
  std::string operator()(const std::vector<double>& interval_mm) const {
    if (interval_mm.size() != 2) return "";
    return escaped(in_units([&](LengthUnit unit) {
      return format_signed_length(interval_mm[0], unit) + " to " +
             format_signed_length(interval_mm[1], unit);
    }));
  }
  template <class Other>
  std::string operator()(const Other&) const {
    return "";
  }
};

/// To the digit in which its standard uncertainty begins.
std::string place_to(double mm, double u_mm, LengthUnit unit) {
  const double of_unit = unit == LengthUnit::mm     ? 1.0
                         : unit == LengthUnit::inch ? 1.0 / kMmPerInch
                                                    : 1.0 / kMmPerThou;
  const int most = unit == LengthUnit::mm ? 3 : unit == LengthUnit::inch ? 4 : 1;
  const int decimals =
      std::clamp(static_cast<int>(-std::floor(std::log10(u_mm * of_unit))), 0, most);
  const double least = 0.5 * std::pow(10.0, -decimals);
  const double shown = std::abs(mm * of_unit) < least ? 0.0 : mm * of_unit;  // Never "-0".
  return fixed(shown, decimals);
}

/// A length beside whose name another one stands with "_u", its standard uncertainty, is shown as
/// far as that allows.
std::string place_html(const StatedTable::Column& column, const StatedPlace& place,
                       const Statement& statement) {
  const std::optional<double> mm = place.at.number(column.what);
  const std::optional<double> u_mm = place.at.number(column.what + "_u");
  if (mm && u_mm && *u_mm > 0.0) {
    return escaped(in_units([&](LengthUnit unit) { return place_to(*mm, *u_mm, unit); }));
  }
  if (const FactValue* fact = place.at.find(column.what)) {
    return std::visit(FactHtml{statement}, *fact);
  }
  return number_html(find(place.quantities, column.what), column.number);
}

std::vector<const StatedQuantity*> at_depths(const Statement& statement) {
  std::vector<const StatedQuantity*> all;
  for (const StatedQuantity& quantity : statement.quantities) {
    if (quantity.depth_mm) all.push_back(&quantity);
  }
  return all;
}

/// Of what was read beside a quantity at any depth.
std::vector<std::string> ids_beside(const std::vector<const StatedQuantity*>& depths) {
  std::vector<std::string> ids;
  for (const StatedQuantity* depth : depths) {
    for (const StatedQuantity& beside : depth->beside) {
      if (std::ranges::find(ids, beside.id) == ids.end()) ids.push_back(beside.id);
    }
  }
  return ids;
}

std::vector<StationColumn> columns_shown(const Statement& statement) {
  std::vector<StationColumn> columns = statement.columns;
  std::erase_if(columns, [&](const StationColumn& column) {
    return column.kind != StationColumn::Kind::quantity ||
           std::ranges::none_of(statement.stations, [&](const StatedStation& station) {
             return find(station.quantities, column.what) != nullptr;
           });
  });
  return columns;
}

std::string budget_row(const BudgetLine& line, double share, QuantityKind kind) {
  const Stated u{.value = line.u};
  const bool length = kind == QuantityKind::length || kind == QuantityKind::signed_length;
  const InUnits words = length ? length_in_units(line.u) : shown(kind, u, &Printed::value);
  const std::string percent = std::to_string(std::lround(100.0 * share)) + "%";
  return "<tr><th scope=\"row\">" + escaped(line.cause) + "</th><td>" + escaped(words) +
         "</td><td class=\"bar\"><span style=\"width:" + percent + "\"></span><b>" + percent +
         "</b></td></tr>\n";
}

std::string budget_table(const InUnits& label, std::vector<BudgetLine> lines, QuantityKind kind) {
  double variance = 0.0;
  for (const BudgetLine& line : lines) variance += line.u * line.u;
  std::string html = "<table class=\"budget\">\n<caption>" + escaped(label) +
                     "</caption>\n<tr><th scope=\"col\">source</th><th scope=\"col\">u</th><th "
                     "scope=\"col\">share of the variance</th></tr>\n";
  std::ranges::stable_sort(lines, std::ranges::greater{}, &BudgetLine::u);
  for (const BudgetLine& line : lines) {
    html += budget_row(line, variance > 0.0 ? line.u * line.u / variance : 0.0, kind);
  }
  return html + "</table>\n";
}

}  // namespace

std::string summary_table(const Statement& statement) {
  std::string rows;
  for (const StatedQuantity& quantity : statement.quantities) {
    if (!quantity.depth_mm) rows += summary_row(quantity, statement);
  }
  if (rows.empty()) return "<p>Nothing was measured.</p>\n";
  // Roles are spelt out, for on a phone the rows are laid out as boxes.
  return "<table class=\"summary\" role=\"table\">\n<caption class=\"unseen-text\">Measured, with "
         "the half-width U95 of the 95 percent interval</caption>\n" +
         rows + "</table>\n";
}

std::string depths_table(const Statement& statement) {
  const std::vector<const StatedQuantity*> depths = at_depths(statement);
  if (depths.empty()) return "";
  const std::vector<std::string> beside = ids_beside(depths);
  std::vector<std::string> head = {"depth", label_of(statement, depths.front()->id).mm};
  for (const std::string& id : beside) head.push_back(label_of(statement, id).mm);
  std::vector<std::vector<std::string>> rows;
  for (const StatedQuantity* depth : depths) {
    std::vector<std::string>& row = rows.emplace_back();
    row = {row_head(position_html(*depth->depth_mm)),
           cell(number_html(depth, kind_of(statement, depth->id)))};
    for (const std::string& id : beside) {
      row.push_back(cell(number_html(find(depth->beside, id), kind_of(statement, id))));
    }
  }
  return plain_table(head, rows);
}

std::string places_table(const StatedTable& table, const Statement& statement) {
  std::vector<std::string> head;
  for (const StatedTable::Column& column : table.columns) head.push_back(column.label);
  std::vector<std::vector<std::string>> rows;
  for (const StatedPlace& place : table.places) {
    std::vector<std::string>& row = rows.emplace_back();
    for (const StatedTable::Column& column : table.columns) {
      const std::string html = place_html(column, place, statement);
      row.push_back(row.empty() ? row_head(html) : cell(html));
    }
  }
  return plain_table(head, rows);
}

std::string stations_table(const Statement& statement) {
  const std::vector<StationColumn> columns = columns_shown(statement);
  std::vector<std::string> head = {statement.along};
  for (const StationColumn& column : columns) head.push_back(column.label);
  std::vector<std::vector<std::string>> rows;
  for (const StatedStation& station : statement.stations) {
    std::vector<std::string>& row = rows.emplace_back();
    row.push_back(row_head(position_html(station.at_mm)));
    for (const StationColumn& column : columns) {
      row.push_back(cell(number_html(find(station.quantities, column.what), column.number)));
    }
  }
  if (rows.empty()) return "";
  return "<details>\n<summary>" + std::to_string(rows.size()) + " stations, " +
         escaped(InUnits("all in mm", "all in inches")) +
         ", &plusmn; is U95; an empty cell was not seen</summary>\n" + plain_table(head, rows) +
         "</details>\n";
}

namespace {

/// Without what was read beside a number at a depth: it has the same causes.
std::vector<QuantityBudgetLine> shown_budget(const Statement& statement) {
  Statement shown{.quantities = statement.quantities, .budget = statement.budget};
  for (StatedQuantity& quantity : shown.quantities) quantity.beside.clear();
  return whole_budget(shown);
}

}  // namespace

std::string budget_tables(const Statement& statement) {
  std::vector<std::string> order;
  std::map<std::string, std::vector<BudgetLine>> lines;
  for (const auto& [quantity, line] : shown_budget(statement)) {
    if (!lines.contains(quantity)) order.push_back(quantity);
    lines[quantity].push_back(line);
  }
  std::string html;
  for (const std::string& quantity : order) {
    const InUnits label = label_of(statement, quantity);
    const std::string table = budget_table(label, lines[quantity], kind_of(statement, quantity));
    html += quantity == order.front() ? table : folded(label, table);
  }
  return html;
}

}  // namespace evenbevel
