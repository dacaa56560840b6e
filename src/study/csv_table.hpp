#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace evenbevel::studies {

struct CsvLine {
  int number = 0;  ///< In the file, from 1.
  std::vector<std::string> fields;
};

/// A CSV by columns. Fields may stand in double quotes (RFC 4180, section 2), but not run over
/// lines; space around them is taken off.
struct CsvTable {
  std::vector<std::string> columns;  ///< In lower case.
  std::vector<CsvLine> lines;        ///< As many fields each as columns; empty ones are left out.
  char separator = ',';
  std::string name;

  /// Empty when there is no such column.
  std::string field(const CsvLine& line, std::string_view column) const;
};

/// @param known  Columns that may be there. @param needed  Columns that must be there.
/// @throws Error  A column missing, unknown or twice; a line of another length; no line.
CsvTable csv_table(std::string_view text, const std::string& name,
                   const std::vector<std::string>& known, const std::vector<std::string>& needed);

/// The first line's columns, in lower case.
std::vector<std::string> csv_columns(std::string_view text);

}  // namespace evenbevel::studies
