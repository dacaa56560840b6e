#pragma once

#include <string>
#include <vector>

#include <CLI/CLI.hpp>

#include "evenbevel/card.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel::cli {

/// Adds --printed-bar: the check bar as measured on the print, along and across the page.
void add_printed_bar(CLI::App& command, std::vector<std::string>& bar);

inline constexpr double kBar_mm =
    printed_bar_mm(CardKind::edge);  ///< Printed under the lens, edge and side cards.
inline constexpr double kHeelBar_mm = printed_bar_mm(CardKind::heel);

/// @param bar  As typed: none, one reading for both directions, or along and across.
/// @param bare  The unit of bare numbers.
/// @throws CLI::ValidationError  Not lengths, or far from the bar's true length.
PrintScale print_scale(const std::vector<std::string>& bar, double true_length_mm,
                       LengthUnit bare = LengthUnit::mm);

}  // namespace evenbevel::cli
