#pragma once

#include <string>
#include <vector>

#include <CLI/CLI.hpp>

#include "evenbevel/card.hpp"

namespace evenbevel::cli {

/// Adds --printed-bar: the check bar as measured on the print, along and across the page.
void add_printed_bar(CLI::App& command, std::vector<std::string>& bar);

/// @param bar  As typed: none, one reading for both directions, or along and across.
/// @throws CLI::ValidationError  Not lengths, or far from the bar's true length.
PrintScale print_scale(const std::vector<std::string>& bar, double true_length_mm);

}  // namespace evenbevel::cli
