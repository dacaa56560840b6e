#pragma once

#include <deque>
#include <filesystem>
#include <map>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "evenbevel/record.hpp"

namespace evenbevel::bench {

/// The record as the bench uses it: what it knows of the knives is held in memory, so that nobody
/// who asks waits for the file. Any thread.
class ShopRecord {
 public:
  explicit ShopRecord(std::filesystem::path file) : file_(std::move(file)) {}

  /// Reads the knives and their facts anew; a record that is not there has none.
  /// @throws Error  It cannot be read; what was known stays.
  void look_up();

  KnifeFacts facts_of(const std::string& knife) const;
  std::optional<double> thickness_of(const std::string& knife) const;
  std::vector<std::string> knives() const;

  /// Says a knife's thickness for the first time; one that it has already stays.
  /// @throws Error  Not writable.
  void remember_thickness(const std::string& knife, double thickness_mm);

  /// What is going to be said of a knife counts at once.
  void expect(const std::string& knife, const SaidFact& said);
  /// Writes down what was expected longest. @throws Error  Not writable: it does not count any
  /// more.
  void say_expected();

  /// @throws Error  Not writable, or the entry is not allowed.
  Added add(NewEntry entry);

 private:
  struct Expected {
    std::string knife;
    SaidFact said;
  };
  void count(const Expected& expected);  // holding the mutex
  void forget_expected();

  std::filesystem::path file_;
  mutable std::mutex mutex_;
  std::map<std::string, KnifeFacts> known_;
  std::deque<Expected> expected_;  // oldest first; they count in known_
};

}  // namespace evenbevel::bench
