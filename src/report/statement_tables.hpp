#pragma once

#include <string>

#include "evenbevel/statement.hpp"

namespace evenbevel {

// The tables of a report's page, each made of what the statement declares.

/// Every quantity of the whole blade, with U95 and what is said beside it.
std::string summary_table(const Statement& statement);

/// Quantities stated at several depths, each with what was read beside it; empty without any.
std::string depths_table(const Statement& statement);

/// Quantities and facts of one kind of place; empty without places.
std::string places_table(const StatedTable& table, const Statement& statement);

/// Folded: one row a station, one column for each quantity that one of them shows.
std::string stations_table(const Statement& statement);

/// One table a quantity, the first one open.
std::string budget_tables(const Statement& statement);

}  // namespace evenbevel
