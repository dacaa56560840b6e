#pragma once

#include <span>
#include <string>

#include <CLI/CLI.hpp>

namespace evenbevel::cli {

/// The first command or option of a command line that there is none of, with the nearest one:
/// "there is no '--thicknes': did you mean --thickness?". Empty: all are known.
/// @param words  Without the program's name.
std::string unknown_word(const CLI::App& app, std::span<const std::string> words);

/// How many letters have to be put in, left out, replaced or swapped with their neighbour.
int letters_apart(const std::string& a, const std::string& b);

}  // namespace evenbevel::cli
