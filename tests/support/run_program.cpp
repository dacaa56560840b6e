#include "run_program.hpp"

#include <array>
#include <cstdio>

#include <sys/wait.h>

namespace evenbevel::test {

ProgramRun run_program(const std::string& command_line) {
  ProgramRun out;
  FILE* pipe = popen((command_line + " 2>&1").c_str(), "r");
  if (pipe == nullptr) return out;
  std::array<char, 4096> buffer{};
  while (fgets(buffer.data(), static_cast<int>(buffer.size()), pipe) != nullptr) {
    out.output += buffer.data();
  }
  out.exit_code = WEXITSTATUS(pclose(pipe));
  return out;
}

}  // namespace evenbevel::test
