#include "until_stopped.hpp"

#include <csignal>
#include <ctime>
#include <stdexcept>

#include <unistd.h>

namespace evenbevel::cli {
namespace {

// A signal handler has nothing else to reach what runs by.
volatile int stop_pipe = -1;

void on_stop(int /*signal*/) {
  const char byte = 0;
  (void)!::write(stop_pipe, &byte, 1);
}

}  // namespace

StopSignals::StopSignals() {
  if (::pipe(ends_) != 0) throw std::runtime_error("no pipe");
  stop_pipe = ends_[1];
  struct sigaction action {};
  action.sa_handler = on_stop;
  for (const int signal : {SIGINT, SIGTERM}) ::sigaction(signal, &action, nullptr);
}

StopSignals::~StopSignals() {
  for (const int signal : {SIGINT, SIGTERM}) ::signal(signal, SIG_DFL);
  ::close(ends_[0]);
  ::close(ends_[1]);
}

std::string clock_time() {
  const std::time_t now = std::time(nullptr);
  std::tm parts{};
  ::localtime_r(&now, &parts);
  char text[16] = {};
  const std::size_t length = std::strftime(text, sizeof text, "%H:%M:%S", &parts);
  return {text, length};
}

}  // namespace evenbevel::cli
