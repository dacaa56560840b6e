#pragma once

#include <string>
#include <vector>

namespace evenbevel {

/// Columns two blanks apart, for the terminal; widths in characters of UTF-8.
std::string table_text(const std::vector<std::vector<std::string>>& rows);

}  // namespace evenbevel
