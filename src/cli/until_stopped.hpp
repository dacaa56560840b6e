#pragma once

#include <string>

namespace evenbevel::cli {

/// While it lives, SIGINT and SIGTERM make its descriptor readable instead of ending the program.
class StopSignals {
 public:
  StopSignals();
  ~StopSignals();
  StopSignals(const StopSignals&) = delete;
  StopSignals& operator=(const StopSignals&) = delete;
  int descriptor() const { return ends_[0]; }

 private:
  int ends_[2] = {};
};

/// Of day, here: "14:03:07".
std::string clock_time();

}  // namespace evenbevel::cli
