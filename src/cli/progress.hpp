#pragma once

#include <iostream>
#include <string>

#include <unistd.h>

namespace evenbevel::cli {

/// On stderr. What is only for the moment renews one line of a terminal and is not said elsewhere.
class Progress {
 public:
  bool terminal() const { return terminal_; }

  void moment(const std::string& text) {
    if (!terminal_) return;
    std::cerr << '\r' << padded(text) << std::flush;
    open_ = true;
  }
  void keep(const std::string& text) {
    std::cerr << (open_ ? '\r' + padded(text) : text) << '\n';
    open_ = false;
  }
  void end() {
    if (open_) std::cerr << '\n';
    open_ = false;
  }

 private:
  static std::string padded(std::string text) {
    constexpr std::size_t kWide = 96;
    if (text.size() < kWide) text.resize(kWide, ' ');
    return text;
  }

  bool terminal_ = isatty(STDERR_FILENO) != 0;
  bool open_ = false;
};

}  // namespace evenbevel::cli
