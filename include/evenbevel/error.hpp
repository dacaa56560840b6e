#pragma once

#include <stdexcept>
#include <string>

namespace evenbevel {

/// Something the maker can put right: a photo, a set-up, a file. The command line prints both
/// sentences and exits with 3. A programmer's mistake is an assert, not an Error.
class Error : public std::runtime_error {
 public:
  /// @param what_is_wrong  With numbers: how many found, how many needed, which file.
  /// @param do_next        What to do about it, as an instruction.
  Error(const std::string& what_is_wrong, std::string do_next);

  const std::string& do_next() const { return do_next_; }

 private:
  std::string do_next_;
};

}  // namespace evenbevel
