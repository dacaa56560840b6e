#pragma once

#include <filesystem>
#include <string>

#include <CLI/CLI.hpp>

namespace evenbevel::cli {

/// "evenbevel-record-add" of the command 'evenbevel record add'.
std::string man_page_name(const CLI::App& command);

/// The manual page of a command, section 1, as troff: what its --help says, by the same words.
std::string man_page(const CLI::App& command);

/// NAME.1 of the program and of each command, however deep.
/// @throws Error  The folder cannot be made or written to.
void write_man_pages(const CLI::App& program, const std::filesystem::path& folder);

}  // namespace evenbevel::cli
