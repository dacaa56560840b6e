#pragma once

#include "evenbevel/statement.hpp"
#include "statement/json.hpp"

namespace evenbevel {

// What a report says of its own numbers: how they are called and shown, so that a page can be made
// of it by who knows none of the views.

/// Empty when nothing is said.
Json glance_json(const Glance& glance);
Glance glance_of(const Json& json);

/// Of quantities, station columns, charts and tables; empty when nothing was declared.
Json declared_json(const Statement& statement);
/// @param statement  Its tables have been read.
void take_declared(const Json& json, Statement& statement);

}  // namespace evenbevel
