#pragma once

#include <cstddef>
#include <memory>
#include <string>

#include <CLI/CLI.hpp>

namespace evenbevel::cli {

/// The program's own texts are no wider.
constexpr std::size_t kTextWidth = 100;

/// How every command's --help is laid out.
std::shared_ptr<CLI::FormatterBase> help_page();

/// What an option takes: "LENGTH", "mm|in|thou", "PHOTO ..." (several); empty of a flag.
std::string option_value(const CLI::Option& option);

/// The same as a text shows it after the name, a blank before; an argument's own name says enough
/// of a text.
std::string shown_value(const CLI::Option& option);

/// What else holds for an option: its range, what it goes with and what not, its default; begins
/// with a blank, or is empty.
std::string option_conditions(const CLI::Option& option);

/// The words in lines of at most so many columns, each after the indent; no newline at the end.
std::string wrapped(const std::string& sentence, const std::string& indent, std::size_t columns);

}  // namespace evenbevel::cli
