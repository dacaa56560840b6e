#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include <nlohmann/json.hpp>
#include <sys/types.h>

#include "raw_client.hpp"

namespace evenbevel::test {

/// A program of its own process, its output read as it comes.
class StartedProgram {
 public:
  /// @param most_kib  Largest file that it may write; 0: any.
  explicit StartedProgram(const std::vector<std::string>& command, int most_kib = 0);
  ~StartedProgram();
  StartedProgram(const StartedProgram&) = delete;
  StartedProgram& operator=(const StartedProgram&) = delete;

  /// All that has come when `what` has, or at the end.
  std::string read_until(const std::string& what);
  /// From now on; what is larger already stays.
  void limit_files_kib(int most_kib) const;
  void kill();  ///< At once, without a chance to clear up.
  int exit_code_after(int signal);

 private:
  pid_t process_ = -1;
  int output_ = -1;
  std::string text_;
};

/// The page's requests to a bench that was started as a program.
class ProgramClient {
 public:
  explicit ProgramClient(StartedProgram& bench);
  std::uint16_t port() const { return port_; }
  const std::string& entered() const { return entered_; }
  HttpReply get(const std::string& target) const;
  HttpReply post(const std::string& target, const std::string& body) const;
  nlohmann::json job_done(int job) const;

 private:
  std::uint16_t port_ = 0;
  std::string entered_;
};

}  // namespace evenbevel::test
