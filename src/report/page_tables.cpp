#include <algorithm>
#include <cmath>
#include <map>

#include "report/page.hpp"
#include "report/sha256.hpp"

namespace evenbevel {
namespace {

InUnits printed_in_units(QuantityKind kind, const Measured& value,
                         const std::string Printed::*part) {
  return in_units([&](LengthUnit unit) { return printed(kind, value, unit).*part; });
}

std::string bare(const std::string& text) { return text.substr(0, text.find(' ')); }

InUnits bare(const InUnits& words) { return {bare(words.mm), bare(words.in)}; }

std::string budget_row(const BudgetLine& line, double share, QuantityKind kind) {
  const Measured alone{.value = line.u, .u = 0.0};
  const InUnits u = kind == QuantityKind::angle
                        ? in_units([&](LengthUnit) { return printed_angle(alone).value; })
                        : length_in_units(line.u);
  const std::string percent = std::to_string(std::lround(100.0 * share)) + "%";
  return "<tr><th scope=\"row\">" + escaped(line.cause) + "</th><td>" + escaped(u) +
         "</td><td class=\"bar\"><span style=\"width:" + percent + "\"></span><b>" + percent +
         "</b></td></tr>\n";
}

std::string budget_table(const InUnits& label, const std::vector<BudgetLine>& lines,
                         QuantityKind kind) {
  double variance = 0.0;
  for (const BudgetLine& line : lines) variance += line.u * line.u;
  std::string html = "<table class=\"budget\">\n<caption>" + escaped(label) +
                     "</caption>\n<tr><th scope=\"col\">source</th><th scope=\"col\">u</th><th "
                     "scope=\"col\">share of the variance</th></tr>\n";
  std::vector<BudgetLine> sorted = lines;
  std::stable_sort(sorted.begin(), sorted.end(),
                   [](const BudgetLine& a, const BudgetLine& b) { return a.u > b.u; });
  for (const BudgetLine& line : sorted) {
    html += budget_row(line, variance > 0.0 ? line.u * line.u / variance : 0.0, kind);
  }
  return html + "</table>\n";
}

}  // namespace

std::string summary_table(std::span<const Quantity> quantities, const NoteOf& note) {
  if (quantities.empty()) return "<p>Nothing was measured.</p>\n";
  // Roles are spelt out, for on a phone the rows are laid out as boxes.
  std::string html =
      "<table class=\"summary\" role=\"table\">\n<caption class=\"unseen-text\">Measured, with the "
      "half-width U95 of the 95 percent interval</caption>\n";
  for (const Quantity& quantity : quantities) {
    const QuantityKind kind = quantity.what.kind;
    const InUnits aside = in_units([&](LengthUnit unit) { return note(quantity, unit); });
    html += "<tr role=\"row\"><th scope=\"row\" role=\"rowheader\">" +
            escaped(quantity.what.label) + "</th><td role=\"cell\" class=\"value\">" +
            escaped(printed_in_units(kind, quantity.value, &Printed::value)) +
            "</td><td role=\"cell\" class=\"u\">U95 " +
            escaped(printed_in_units(kind, quantity.value, &Printed::U95)) +
            (aside.mm.empty() ? "" : "<br><span>" + escaped(aside) + "</span>") + "</td></tr>\n";
  }
  return html + "</table>\n";
}

std::string plain_table(const std::vector<std::string>& head,
                        const std::vector<std::vector<std::string>>& rows_of_html) {
  if (rows_of_html.empty()) return "";
  std::string html = "<div class=\"wide\" tabindex=\"0\"><table class=\"stations\">\n<tr>";
  for (const std::string& column : head) html += "<th scope=\"col\">" + escaped(column) + "</th>";
  html += "</tr>\n";
  for (const std::vector<std::string>& row : rows_of_html) {
    html += "<tr>";
    for (const std::string& cell : row) html += cell;
    html += "</tr>\n";
  }
  return html + "</table></div>\n";
}

std::string number_cell(const std::optional<Measured>& value, QuantityKind kind) {
  if (!measured(value)) return "<td></td>";
  const std::string number = escaped(bare(printed_in_units(kind, *value, &Printed::value)));
  return "<td>" + number + " <small>&plusmn; " +
         escaped(bare(printed_in_units(kind, *value, &Printed::U95))) + "</small></td>";
}

std::string position_cell(double x_mm) {
  return "<th scope=\"row\">" + escaped(bare(length_in_units(x_mm))) + "</th>";
}

std::string stations_folded(const std::string& table, std::size_t count) {
  if (table.empty()) return "";
  const InUnits all = {"all in mm", "all in inches"};
  return "<details>\n<summary>" + std::to_string(count) + " stations, " + escaped(all) +
         ", &plusmn; is U95; an empty cell was not seen</summary>\n" + table + "</details>\n";
}

std::string fact(const std::string& label, const InUnits& value) {
  if (value.mm.empty()) return "";
  return "<tr><th scope=\"row\">" + escaped(label) + "</th><td>" + escaped(value) + "</td></tr>\n";
}

std::string facts(const std::string& rows) {
  return "<table class=\"facts\">\n" + rows + "</table>\n";
}

std::string camera_words(const CameraModel& camera) {
  if (camera.file.empty()) return "no camera file: a guess, and a wider uncertainty";
  const std::optional<std::string> hash = sha256_of_file(camera.file);
  return camera.file + (hash ? ", SHA-256 " + *hash : "");
}

std::string budget_html(std::span<const QuantityBudgetLine> budget,
                        std::span<const QuantityName> names, const LabelOf& other_label) {
  std::vector<std::string> order;
  std::map<std::string, std::vector<BudgetLine>> lines;
  for (const auto& [quantity, line] : budget) {
    if (!lines.contains(quantity)) order.push_back(quantity);
    lines[quantity].push_back(line);
  }
  std::string html;
  for (const std::string& quantity : order) {
    const QuantityName* known = find_name(names, quantity);
    const InUnits label =
        known != nullptr ? InUnits{known->label, known->label} : other_label(quantity);
    const QuantityKind kind = known != nullptr ? known->kind : QuantityKind::length;
    const std::string table = budget_table(label, lines[quantity], kind);
    html += quantity == order.front() ? table : folded(label, table);
  }
  return html;
}

}  // namespace evenbevel
