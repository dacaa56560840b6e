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
