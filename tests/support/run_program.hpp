#pragma once

#include <string>

namespace evenbevel::test {

struct ProgramRun {
  int exit_code = -1;
  std::string output;  ///< Both streams.
};

/// Runs a command line through the shell and waits for it.
ProgramRun run_program(const std::string& command_line);

}  // namespace evenbevel::test
