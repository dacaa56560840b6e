#include "report/html_parts.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "report/quantities.hpp"

namespace evenbevel {
namespace {

std::string cell(const std::optional<Measured>& value, LengthUnit unit, Sign sign) {
  if (!value) return "<td></td>";
  const Printed number = printed_length(*value, unit, sign);
  const auto bare = [](const std::string& text) { return text.substr(0, text.find(' ')); };
  return "<td>" + bare(number.value) + " <small>&plusmn; " + bare(number.U95) + "</small></td>";
}

bool shown(const EdgeResult& result, const StationQuantity& quantity) {
  return std::any_of(result.stations.begin(), result.stations.end(), [&](const EdgeStation& s) {
    return measured(s.*quantity.member).has_value();
  });
}

const char* label_of(const std::string& quantity_name) {
  for (const EdgeQuantity& quantity : edge_quantities()) {
    if (quantity.name == quantity_name) return quantity.label;
  }
  return nullptr;
}

std::string budget_row(const BudgetLine& line, double share, bool angle, LengthUnit unit) {
  const Measured alone{.value = line.u, .u = 0.0};
  const std::string u = angle ? printed_angle(alone).value : format_length(line.u, unit);
  const long percent = std::lround(100.0 * share);
  return "<tr><th scope=\"row\">" + escaped(line.cause) + "</th><td>" + escaped(u) +
         "</td><td class=\"bar\"><span style=\"width:" + std::to_string(percent) +
         "%\"></span><b>" + std::to_string(percent) + " %</b></td></tr>\n";
}

std::string budget_table(const std::string& quantity, const std::vector<BudgetLine>& lines,
                         LengthUnit unit) {
  double variance = 0.0;
  for (const BudgetLine& line : lines) variance += line.u * line.u;
  const char* label = label_of(quantity);
  std::string html = "<h3>" + escaped(label != nullptr ? label : quantity) +
                     "</h3>\n<table class=\"budget\">\n<tr><th>source</th><th>u</th><th>share of "
                     "the variance</th></tr>\n";
  std::vector<BudgetLine> sorted = lines;
  std::stable_sort(sorted.begin(), sorted.end(),
                   [](const BudgetLine& a, const BudgetLine& b) { return a.u > b.u; });
  for (const BudgetLine& line : sorted) {
    html += budget_row(line, variance > 0.0 ? line.u * line.u / variance : 0.0, is_angle(quantity),
                       unit);
  }
  return html + "</table>\n";
}

}  // namespace

std::string escaped(std::string_view text) {
  std::string safe;
  safe.reserve(text.size());
  for (const char c : text) {
    switch (c) {
      case '&':
        safe += "&amp;";
        break;
      case '<':
        safe += "&lt;";
        break;
      case '>':
        safe += "&gt;";
        break;
      case '"':
        safe += "&quot;";
        break;
      case '\'':
        safe += "&#39;";
        break;
      default:
        safe += c;
    }
  }
  return safe;
}

std::string base64(const std::vector<uchar>& bytes) {
  constexpr std::string_view kDigits =
      "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string text;
  text.reserve((bytes.size() + 2) / 3 * 4);
  for (std::size_t i = 0; i < bytes.size(); i += 3) {
    const std::size_t have = std::min<std::size_t>(3, bytes.size() - i);
    unsigned group = 0;
    for (std::size_t k = 0; k < 3; ++k) group = (group << 8U) | (k < have ? bytes[i + k] : 0U);
    for (std::size_t k = 0; k < 4; ++k) {
      text += k <= have ? kDigits[(group >> (18U - 6U * k)) & 63U] : '=';
    }
  }
  return text;
}

std::string station_table_html(const EdgeResult& result, LengthUnit unit) {
  std::string head = "<tr><th>x</th>";
  for (const StationQuantity& quantity : station_quantities()) {
    if (shown(result, quantity)) head += "<th>" + escaped(quantity.label) + "</th>";
  }
  std::string rows;
  for (const EdgeStation& station : result.stations) {
    const std::string x = format_length(station.x_mm, unit);
    rows += "<tr><th scope=\"row\">" + x.substr(0, x.find(' ')) + "</th>";
    for (const StationQuantity& quantity : station_quantities()) {
      if (!shown(result, quantity)) continue;
      const bool is_offset = quantity.member == &EdgeStation::centreline_offset_mm;
      rows += cell(measured(station.*quantity.member), unit,
                   is_offset ? Sign::always : Sign::negative_only);
    }
    rows += "</tr>\n";
  }
  return "<details>\n<summary>" + std::to_string(result.stations.size()) + " stations, all in " +
         (unit == LengthUnit::mm ? "mm" : "in") +
         ", &plusmn; is U95; an empty cell was not seen</summary>\n<div class=\"wide\"><table "
         "class=\"stations\">\n" +
         head + "</tr>\n" + rows + "</table></div>\n</details>\n";
}

std::string budget_html(const EdgeResult& result, LengthUnit unit) {
  std::vector<std::string> order;
  std::map<std::string, std::vector<BudgetLine>> lines;
  for (const auto& [quantity, line] : result.budget) {
    if (!lines.contains(quantity)) order.push_back(quantity);
    lines[quantity].push_back(line);
  }
  std::string html;
  for (const std::string& quantity : order) {
    const std::string table = budget_table(quantity, lines[quantity], unit);
    const bool first = quantity == order.front();
    html += first ? table
                  : "<details>\n<summary>" + escaped(quantity) + "</summary>\n" + table +
                        "</details>\n";
  }
  return html;
}

std::string html_style() {
  return R"(:root { --paper: #fff; --ink: #1a1a1a; --quiet: #5c5c5c; --rule: #d6d6d0; --pale: #f1f1ec;
  --offset: #0072b2; --band: #56b4e9; --tolerance: #d55e00; --middle: #a8437f; }
@media (prefers-color-scheme: dark) { :root { --paper: #161616; --ink: #ececec; --quiet: #a9a9a9;
  --rule: #3d3d3d; --pale: #232323; --offset: #7cc6f2; --band: #2a6f9c; --tolerance: #ff8a3d;
  --middle: #e39cc3; } }
@media print { :root { --paper: #fff; --ink: #000; --quiet: #444; --rule: #bbb; --pale: #f4f4f4;
  --offset: #0072b2; --band: #56b4e9; --tolerance: #d55e00; --middle: #a8437f; }
  section, figure, tr { break-inside: avoid; } body { font-size: 11pt; } }
* { box-sizing: border-box; }
body { margin: 0; background: var(--paper); color: var(--ink); font: 17px/1.45 system-ui, sans-serif;
  overflow-wrap: anywhere; }
main { max-width: 54rem; margin: 0 auto; padding: 0 1rem 2rem; }
header { padding: .9rem 1rem; color: #fff; background: #5c5c5c; -webkit-print-color-adjust: exact;
  print-color-adjust: exact; }
header > p { max-width: 52rem; margin: 0 auto; }
header.within { background: #0072b2; } header.outside { background: #b84f00; }
header.unresolved { background: #e69f00; color: #1a1a1a; }
.headline { font-size: 2rem; font-weight: 700; line-height: 1.15; }
.first { font-size: 1.25rem; font-weight: 600; margin: 1rem 0; }
.quiet { color: var(--quiet); font-size: .9rem; }
h2 { font-size: 1.2rem; margin: 1.8rem 0 .5rem; } h3 { font-size: 1rem; margin: 1rem 0 .3rem; }
ul { padding-left: 1.2rem; margin: .4rem 0; } li { margin: .3rem 0; }
table { border-collapse: collapse; width: 100%; }
th, td { text-align: left; padding: .3rem .5rem .3rem 0; border-bottom: 1px solid var(--rule);
  vertical-align: top; font-weight: 400; }
.summary .value { font-weight: 700; white-space: nowrap; } .summary .u { color: var(--quiet); }
figure { margin: 1.2rem 0; } figure img { width: 100%; height: auto; display: block;
  border: 1px solid var(--rule); }
svg { width: 100%; height: auto; display: block; background: var(--pale); }
svg text { fill: var(--ink); font: 24px system-ui, sans-serif; }
svg .band { fill: var(--band); fill-opacity: .5; } svg .axis { stroke: var(--ink); stroke-width: 2; }
svg .offset { fill: none; stroke: var(--offset); stroke-width: 4; }
svg .middle { stroke: var(--middle); stroke-width: 2; stroke-dasharray: 20 5 5 5; }
svg .tolerance { stroke: var(--tolerance); stroke-width: 3; stroke-dasharray: 9 7; }
svg .unseen { fill: var(--rule); fill-opacity: .55; }
svg .worst { fill: none; stroke: var(--ink); stroke-width: 3; }
.bar { position: relative; min-width: 7rem; } .bar b { position: relative; padding-left: .3rem; }
.bar span { position: absolute; left: 0; top: .25rem; bottom: .25rem; background: var(--band);
  opacity: .55; -webkit-print-color-adjust: exact; print-color-adjust: exact; }
summary { cursor: pointer; padding: .4rem 0; } .wide { overflow-x: auto; }
.stations td, .stations th { white-space: nowrap; } small { color: var(--quiet); }
@media (max-width: 32rem) { .headline { font-size: 1.6rem; }
  .summary tr { display: flex; flex-wrap: wrap; border-bottom: 1px solid var(--rule); }
  .summary th, .summary td { border: 0; } .summary th { flex-basis: 100%; padding-bottom: 0; }
  .summary .value { flex: 0 0 7.5rem; padding-top: 0; } .summary .u { flex: 1; padding-top: 0; } }
)";
}

}  // namespace evenbevel
