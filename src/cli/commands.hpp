#pragma once

#include <string>

#include <CLI/CLI.hpp>

namespace evenbevel::cli {

// One file a command. Each adds its subcommand to the app; its callback sets the exit code.
void add_bench(CLI::App& app, int& exit_code, const std::string& command_line);
void add_calibrate(CLI::App& app, int& exit_code);
void add_card(CLI::App& app, int& exit_code);
void add_choil(CLI::App& app, int& exit_code, const std::string& command_line);
void add_edge(CLI::App& app, int& exit_code, const std::string& command_line);
void add_finish(CLI::App& app, int& exit_code, const std::string& command_line);
void add_plan(CLI::App& app, int& exit_code, const std::string& command_line);
void add_side(CLI::App& app, int& exit_code, const std::string& command_line);
void add_study(CLI::App& app, int& exit_code, const std::string& command_line);
void add_record(CLI::App& app, int& exit_code);
void add_watch(CLI::App& app, int& exit_code, const std::string& command_line);

/// The usual cautions, for the end of a help text.
std::string help_cautions();

}  // namespace evenbevel::cli
