#include "child_run.hpp"

#include <array>
#include <chrono>
#include <stdexcept>

#include <fcntl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

namespace evenbevel::test {
namespace {

double seconds(const timeval& time) {
  return static_cast<double>(time.tv_sec) + 1e-6 * static_cast<double>(time.tv_usec);
}

[[noreturn]] void become(const std::vector<std::string>& command, int output) {
  std::vector<char*> arguments;
  for (const std::string& word : command) arguments.push_back(const_cast<char*>(word.c_str()));
  arguments.push_back(nullptr);
  const int nowhere = ::open("/dev/null", O_WRONLY);
  ::dup2(output, STDOUT_FILENO);
  ::dup2(nowhere, STDERR_FILENO);
  ::execvp(arguments.front(), arguments.data());
  ::_exit(127);
}

std::string all_of(int input) {
  std::string said;
  std::array<char, 4096> part{};
  for (ssize_t count = 0; (count = ::read(input, part.data(), part.size())) > 0;)
    said.append(part.data(), static_cast<std::size_t>(count));
  return said;
}

}  // namespace

ChildRun run_child(const std::vector<std::string>& command) {
  std::array<int, 2> pipe{};
  if (::pipe2(pipe.data(), O_CLOEXEC) != 0) throw std::runtime_error("no pipe");
  const auto start = std::chrono::steady_clock::now();
  const pid_t child = ::fork();
  if (child < 0) throw std::runtime_error("no process");
  if (child == 0) become(command, pipe[1]);
  ::close(pipe[1]);
  ChildRun run;
  run.said = all_of(pipe[0]);
  ::close(pipe[0]);
  int status = 0;
  rusage used{};
  ::wait4(child, &status, 0, &used);
  run.wall_s = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
  run.cpu_s = seconds(used.ru_utime) + seconds(used.ru_stime);
  run.peak_mb = static_cast<double>(used.ru_maxrss) / 1000.0;
  run.exit_code = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  return run;
}

}  // namespace evenbevel::test
