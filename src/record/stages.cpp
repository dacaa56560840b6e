#include "record/stages.hpp"

#include <algorithm>

namespace evenbevel {

std::vector<std::string> views_of(const Knife& knife) {
  std::vector<std::string> views = {"edge", "side", "choil"};
  std::erase_if(views, [&](const std::string& view) {
    return std::ranges::find(knife.entries, view, &RecordEntry::view) == knife.entries.end();
  });
  for (const RecordEntry& entry : knife.entries) {
    if (std::ranges::find(views, entry.view) == views.end()) views.push_back(entry.view);
  }
  return views;
}

const RecordEntry* newest_entry(const Knife& knife, const std::string& stage,
                                const std::string& view) {
  const RecordEntry* newest = nullptr;
  for (const RecordEntry& entry : knife.entries) {
    if (entry.stage == stage && entry.view == view) newest = &entry;
  }
  return newest;
}

}  // namespace evenbevel
