#pragma once

#include <CLI/CLI.hpp>

namespace evenbevel::cli {

// One file a command. Each adds its subcommand to the app; its callback sets the exit code.
void add_card(CLI::App& app, int& exit_code);

}  // namespace evenbevel::cli
