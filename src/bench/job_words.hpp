#pragma once

#include <nlohmann/json.hpp>

#include "evenbevel/error.hpp"
#include "evenbevel/statement.hpp"

namespace evenbevel::bench {

/// Finding, numbers, what next and warnings, as the page shows them.
nlohmann::json words_of(const Statement& statement, LengthUnit unit);

/// What was wrong and what to do.
nlohmann::json words_of(const Error& error, LengthUnit unit);

/// Text in JSON, whatever bytes it has.
std::string text_of(const nlohmann::json& json);

}  // namespace evenbevel::bench
