#pragma once

#include <string>
#include <vector>

namespace evenbevel {

/// The day of a record's time: "2026-03-14".
std::string day(const std::string& time);

/// Columns two blanks apart, for the terminal; widths in characters of UTF-8.
std::string table_text(const std::vector<std::vector<std::string>>& rows);

}  // namespace evenbevel
