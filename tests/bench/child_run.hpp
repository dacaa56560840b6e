#pragma once

#include <string>
#include <vector>

namespace evenbevel::test {

/// What a program took, from its start to its end.
struct ChildRun {
  double wall_s = 0.0;
  double cpu_s = 0.0;  ///< Of all its threads, in the system too.
  double peak_mb = 0.0;
  int exit_code = -1;
  std::string said;  ///< On its standard output.
};

ChildRun run_child(const std::vector<std::string>& command);

}  // namespace evenbevel::test
