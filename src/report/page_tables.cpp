#include "report/page.hpp"

namespace evenbevel {

std::string plain_table(const std::vector<std::string>& head,
                        const std::vector<std::vector<std::string>>& rows_of_html) {
  if (rows_of_html.empty()) return "";
  constexpr std::size_t kFew = 6;   // Columns that fit a phone, their words broken over lines.
  constexpr std::size_t kMany = 5;  // From here on in small letters.
  const std::string kind = head.size() > kFew     ? "stations"
                           : head.size() >= kMany ? "stations few many"
                                                  : "stations few";
  std::string html = "<div class=\"wide\" tabindex=\"0\"><table class=\"" + kind + "\">\n<tr>";
  for (const std::string& column : head) html += "<th scope=\"col\">" + escaped(column) + "</th>";
  html += "</tr>\n";
  for (const std::vector<std::string>& row : rows_of_html) {
    html += "<tr>";
    for (const std::string& cell : row) html += cell;
    html += "</tr>\n";
  }
  return html + "</table></div>\n";
}

std::string fact(const std::string& label, const InUnits& value) {
  if (value.mm.empty()) return "";
  return "<tr><th scope=\"row\">" + escaped(label) + "</th><td>" + escaped(value) + "</td></tr>\n";
}

std::string facts(const std::string& rows) {
  return "<table class=\"facts\">\n" + rows + "</table>\n";
}

}  // namespace evenbevel
