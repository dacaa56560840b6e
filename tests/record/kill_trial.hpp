#pragma once

#include <string>
#include <vector>

#include "knife_maker.hpp"

namespace evenbevel::test {

struct KillTally {
  int kills = 0;
  int in_time = 0;      ///< Kills that hit before the writer was through.
  int confirmed = 0;    ///< Entries of which the writer had said that they are in.
  int unconfirmed = 0;  ///< Entries that were in without the writer having come to say so.
  std::vector<std::string> wrong;  ///< Lost, doubled or half rows, photos missing or damaged.
};

/// A process adds entries one after the other and says so after each; it is killed at a random
/// instant. Again and again on the same record, which is looked over after every kill.
KillTally kill_adds(const Shop& shop, int kills, int seed);

/// Several processes add to the same record at once. @return How many of them failed.
int add_at_once(const Shop& shop, int processes, int entries_each);

}  // namespace evenbevel::test
