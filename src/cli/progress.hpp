#pragma once

#include <filesystem>
#include <iostream>
#include <string>

#include <unistd.h>

#include "evenbevel/photo.hpp"

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
  /// "[######..............]  3 of 10  blade.jpg"
  void step(std::size_t done, std::size_t all, const std::string& what) {
    moment(bar(done, all) + "  " + std::to_string(done) + " of " + std::to_string(all) + "  " +
           what);
  }
  void end() {
    if (open_) std::cerr << '\n';
    open_ = false;
  }
  /// The line is empty again.
  void clear() {
    if (open_) std::cerr << '\r' << padded("") << '\r' << std::flush;
    open_ = false;
  }

  static std::string bar(std::size_t done, std::size_t all) {
    constexpr std::size_t kWide = 20;
    const std::size_t full = all == 0 ? kWide : kWide * done / all;
    return '[' + std::string(full, '#') + std::string(kWide - full, '.') + ']';
  }

 private:
  static std::string padded(std::string text) {
    constexpr std::size_t kWide = 96;
    text.resize(kWide, ' ');
    return text;
  }

  bool terminal_ = isatty(STDERR_FILENO) != 0;
  bool open_ = false;
};

/// HEIC takes seconds to decode: a terminal says so while it does.
Photo read_shown(const std::filesystem::path& path);

}  // namespace evenbevel::cli
