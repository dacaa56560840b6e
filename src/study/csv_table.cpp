#include "csv_table.hpp"

#include <algorithm>

#include "evenbevel/error.hpp"

namespace evenbevel::studies {
namespace {

constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";

std::string trimmed(std::string_view text) {
  constexpr std::string_view kSpace = " \t\r";
  const std::size_t first = text.find_first_not_of(kSpace);
  if (first == std::string_view::npos) return {};
  return std::string(text.substr(first, text.find_last_not_of(kSpace) - first + 1));
}

std::string lower_case(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(), [](char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  });
  return text;
}

/// The one met most often in the first line.
char separator_of(std::string_view first_line) {
  char best = ',';
  for (const char candidate : {';', '\t'}) {
    if (std::count(first_line.begin(), first_line.end(), candidate) >
        std::count(first_line.begin(), first_line.end(), best)) {
      best = candidate;
    }
  }
  return best;
}

std::vector<std::string> fields_of(std::string_view line, char separator) {
  std::vector<std::string> fields;
  std::string field;
  bool quoted = false, was_quoted = false;
  const auto end_field = [&] {
    fields.push_back(was_quoted ? field : trimmed(field));
    field.clear();
    was_quoted = false;
  };
  for (std::size_t i = 0; i < line.size(); ++i) {
    const char c = line[i];
    if (quoted && c == '"' && i + 1 < line.size() && line[i + 1] == '"') {
      field += '"';
      ++i;
    } else if (c == '"' && (quoted || trimmed(field).empty())) {
      if (!quoted) field.clear();
      quoted = !quoted;
      was_quoted = true;
    } else if (c == separator && !quoted) {
      end_field();
    } else if (!was_quoted || quoted) {
      field += c;
    }
  }
  end_field();
  return fields;
}

std::vector<std::string_view> lines_of(std::string_view text) {
  if (text.starts_with(kByteOrderMark)) text.remove_prefix(kByteOrderMark.size());
  std::vector<std::string_view> lines;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    lines.push_back(text.substr(0, end));
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  return lines;
}

std::string quoted_list(const std::vector<std::string>& names) {
  std::string text;
  for (const std::string& name : names) text += (text.empty() ? "" : ", ") + name;
  return text;
}

bool holds(const std::vector<std::string>& names, const std::string& name) {
  return std::find(names.begin(), names.end(), name) != names.end();
}

void require_columns(const CsvTable& table, const std::vector<std::string>& known,
                     const std::vector<std::string>& needed) {
  const std::string how = "write the first line with these columns: " + quoted_list(known) +
                          "; only " + quoted_list(needed) + " must be there";
  for (const std::string& column : table.columns) {
    if (!holds(known, column)) throw Error(table.name + " has a column '" + column + "'", how);
    if (std::count(table.columns.begin(), table.columns.end(), column) > 1) {
      throw Error(table.name + " has the column '" + column + "' twice", how);
    }
  }
  for (const std::string& column : needed) {
    if (!holds(table.columns, column)) {
      throw Error(table.name + " has no column '" + column + "'", how);
    }
  }
}

}  // namespace

std::string CsvTable::field(const CsvLine& line, std::string_view column) const {
  const auto found = std::find(columns.begin(), columns.end(), column);
  if (found == columns.end()) return {};
  return line.fields[static_cast<std::size_t>(found - columns.begin())];
}

std::vector<std::string> csv_columns(std::string_view text) {
  const std::vector<std::string_view> lines = lines_of(text);
  if (lines.empty()) return {};
  std::vector<std::string> columns = fields_of(lines.front(), separator_of(lines.front()));
  for (std::string& column : columns) column = lower_case(column);
  return columns;
}

CsvTable csv_table(std::string_view text, const std::string& name,
                   const std::vector<std::string>& known, const std::vector<std::string>& needed) {
  CsvTable table;
  table.name = name;
  table.columns = csv_columns(text);
  const std::vector<std::string_view> lines = lines_of(text);
  if (!lines.empty()) table.separator = separator_of(lines.front());
  require_columns(table, known, needed);
  for (std::size_t i = 1; i < lines.size(); ++i) {
    if (trimmed(lines[i]).empty()) continue;
    CsvLine line{static_cast<int>(i + 1), fields_of(lines[i], table.separator)};
    if (line.fields.size() != table.columns.size()) {
      throw Error("line " + std::to_string(line.number) + " of " + name + " has " +
                      std::to_string(line.fields.size()) + " fields, the first line has " +
                      std::to_string(table.columns.size()),
                  "give every line as many fields as there are columns; a name that holds the "
                  "separator goes into double quotes");
    }
    table.lines.push_back(std::move(line));
  }
  if (table.lines.empty()) {
    throw Error(name + " has no line under its first one", "add a line for each reading");
  }
  return table;
}

}  // namespace evenbevel::studies
