#pragma once

#include <CLI/CLI.hpp>

namespace evenbevel::cli {

// One file a command. Each adds its subcommand to the app; its callback sets the exit code.

}  // namespace evenbevel::cli
