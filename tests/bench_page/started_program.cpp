#include "started_program.hpp"

#include <array>
#include <chrono>
#include <csignal>
#include <stdexcept>
#include <thread>

#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

namespace evenbevel::test {
namespace {

rlimit limit_of_kib(int kib) {
  const auto bytes = static_cast<rlim_t>(kib) * 1024;
  return {bytes, RLIM_INFINITY};
}

}  // namespace

StartedProgram::StartedProgram(const std::vector<std::string>& command, int most_kib) {
  std::array<int, 2> ends{};
  if (::pipe(ends.data()) != 0) throw std::runtime_error("no pipe");
  std::vector<char*> words;
  for (const std::string& word : command) words.push_back(const_cast<char*>(word.c_str()));
  words.push_back(nullptr);
  process_ = ::fork();
  if (process_ == 0) {
    ::dup2(ends[1], STDOUT_FILENO);
    ::close(ends[0]);
    ::close(ends[1]);
    const rlimit limit = limit_of_kib(most_kib);
    if (most_kib > 0) ::setrlimit(RLIMIT_FSIZE, &limit);
    ::signal(SIGXFSZ, SIG_IGN);  // writing fails with EFBIG then, as with ENOSPC
    ::execv(words.front(), words.data());
    ::_exit(99);
  }
  ::close(ends[1]);
  output_ = ends[0];
}

StartedProgram::~StartedProgram() {
  kill();
  ::close(output_);
}

std::string StartedProgram::read_until(const std::string& what) {
  std::array<char, 4096> chunk{};
  while (text_.find(what) == std::string::npos) {
    const ssize_t count = ::read(output_, chunk.data(), chunk.size());
    if (count <= 0) break;
    text_.append(chunk.data(), static_cast<std::size_t>(count));
  }
  return text_;
}

void StartedProgram::limit_files_kib(int most_kib) const {
  const rlimit limit = limit_of_kib(most_kib);
  if (::prlimit(process_, RLIMIT_FSIZE, &limit, nullptr) != 0) {
    throw std::runtime_error("no limit set");
  }
}

void StartedProgram::kill() {
  if (process_ < 0) return;
  ::kill(process_, SIGKILL);
  ::waitpid(process_, nullptr, 0);
  process_ = -1;
}

int StartedProgram::exit_code_after(int signal) {
  ::kill(process_, signal);
  int status = 0;
  ::waitpid(process_, &status, 0);
  process_ = -1;
  return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

ProgramClient::ProgramClient(StartedProgram& bench) {
  const std::string greeting = bench.read_until("Ctrl-C");
  const std::size_t address = greeting.find("http://");
  if (address == std::string::npos) throw std::runtime_error("no address: " + greeting);
  port_ =
      static_cast<std::uint16_t>(std::stoi(greeting.substr(greeting.find(':', address + 7) + 1)));
  const std::size_t query = greeting.find("/?t=", address);
  const std::string target = greeting.substr(query, greeting.find('\n', query) - query);
  entered_ = entered_by(ask(port_, {.target = target}));
}

HttpReply ProgramClient::get(const std::string& target) const {
  return ask(port_, {.target = target, .headers = entered_});
}

HttpReply ProgramClient::post(const std::string& target, const std::string& body) const {
  return ask(port_, {.method = "POST", .target = target, .headers = entered_, .body = body});
}

nlohmann::json ProgramClient::job_done(int job) const {
  for (;;) {
    nlohmann::json state = get("/state?job=" + std::to_string(job)).json();
    const std::string now = state["job"]["state"];
    if (now == "measured" || now == "refused") return state;
    std::this_thread::sleep_for(std::chrono::milliseconds(20));
  }
}

}  // namespace evenbevel::test
