#include "bench/shop_record.hpp"

#include <algorithm>
#include <span>
#include <utility>

#include "evenbevel/error.hpp"
#include "evenbevel/record_page.hpp"

namespace evenbevel::bench {

void ShopRecord::look_up() {
  std::map<std::string, KnifeFacts> found;
  if (std::filesystem::exists(file_)) {
    Record record = Record::open(file_);
    for (const KnifeLine& line : record.list()) found[line.name] = record.facts(line.name);
  }
  const std::lock_guard lock(mutex_);
  known_ = std::move(found);
  for (const Expected& expected : expected_) count(expected);
}

KnifeFacts ShopRecord::facts_of(const std::string& knife) const {
  const std::lock_guard lock(mutex_);
  const auto found =
      std::ranges::find_if(known_, [&](const auto& one) { return same_name(one.first, knife); });
  return found == known_.end() ? KnifeFacts{} : found->second;
}

std::optional<double> ShopRecord::thickness_of(const std::string& knife) const {
  const KnifeFacts facts = facts_of(knife);
  const auto found = facts.find(KnifeFact::thickness);
  return found == facts.end() ? std::nullopt : std::optional(found->second);
}

std::vector<std::string> ShopRecord::knives() const {
  const std::lock_guard lock(mutex_);
  std::vector<std::string> names;
  for (const auto& [knife, facts] : known_) names.push_back(knife);
  return names;
}

void ShopRecord::remember_thickness(const std::string& knife, double thickness_mm) {
  if (thickness_of(knife)) return;
  const SaidFact said{KnifeFact::thickness, thickness_mm};
  Record::open_or_make(file_).say_facts(knife, std::span(&said, 1), utc_now());
  look_up();
}

void ShopRecord::count(const Expected& expected) {
  const auto found = std::ranges::find_if(
      known_, [&](const auto& one) { return same_name(one.first, expected.knife); });
  KnifeFacts& facts = found == known_.end() ? known_[expected.knife] : found->second;
  facts.erase(expected.said.fact);
  if (expected.said.mm) facts[expected.said.fact] = *expected.said.mm;
}

void ShopRecord::expect(const std::string& knife, const SaidFact& said) {
  const std::lock_guard lock(mutex_);
  expected_.push_back({knife, said});
  count(expected_.back());
}

void ShopRecord::forget_expected() {
  {
    const std::lock_guard lock(mutex_);
    expected_.pop_front();
  }
  look_up();
}

void ShopRecord::say_expected() {
  Expected next;
  {
    const std::lock_guard lock(mutex_);
    next = expected_.front();
  }
  try {
    Record::open_or_make(file_).say_facts(next.knife, std::span(&next.said, 1), utc_now());
  } catch (const Error&) {
    forget_expected();
    throw;
  }
  forget_expected();
}

Added ShopRecord::add(NewEntry entry) {
  Added added = add_with_pictures(file_, std::move(entry));
  try {
    look_up();
  } catch (const Error&) {
    return added;  // it is in the record, and that is what counts
  }
  return added;
}

}  // namespace evenbevel::bench
