#pragma once

#include <stdexcept>
#include <string>

#include "evenbevel/units.hpp"

namespace evenbevel {

/// Something the maker can put right: a photo, a set-up, a file. The command line prints both
/// sentences and exits with 3. A programmer's mistake is an assert, not an Error.
class Error : public std::runtime_error {
 public:
  /// @param what_is_wrong  With numbers: how many found, how many needed, which file.
  /// @param do_next        What to do about it, as an instruction.
  Error(InUnits what_is_wrong, InUnits do_next);

  /// what() and do_next() speak mm; these two speak both units.
  const InUnits& what_is_wrong() const { return what_is_wrong_; }
  const InUnits& what_to_do() const { return what_to_do_; }

  const std::string& do_next() const { return what_to_do_.mm; }

 private:
  InUnits what_is_wrong_, what_to_do_;
};

}  // namespace evenbevel
