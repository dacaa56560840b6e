#include "layout.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <set>
#include <tuple>

#include "evenbevel/error.hpp"

namespace evenbevel {

double StudyCell::mean() const {
  return std::accumulate(values.begin(), values.end(), 0.0) / static_cast<double>(values.size());
}

double StudyCell::range() const {
  const auto [low, high] = std::minmax_element(values.begin(), values.end());
  return *high - *low;
}

namespace studies {
namespace {

std::size_t index_of(std::vector<std::string>& names, const std::string& name) {
  const auto index =
      static_cast<std::size_t>(std::find(names.begin(), names.end(), name) - names.begin());
  if (index == names.size()) names.push_back(name);
  return index;
}

std::string reading_name(const StudyReading& reading) {
  std::string name = "part '" + reading.part + "'";
  if (!reading.person.empty()) name += ", person '" + reading.person + "'";
  if (!reading.trial.empty()) name += ", trial '" + reading.trial + "'";
  return name;
}

void require_one_each(std::span<const StudyReading> readings) {
  std::set<std::tuple<std::string, std::string, std::string>> met;
  for (const StudyReading& reading : readings) {
    if (!std::isfinite(reading.value)) {
      throw Error(reading_name(reading) + " has no finite value",
                  "leave that reading out, or read it again");
    }
    if (reading.trial.empty()) continue;
    if (!met.emplace(reading.part, reading.person, reading.trial).second) {
      throw Error(reading_name(reading) + " is there twice",
                  "number the trials so that each reading has its own");
    }
  }
}

}  // namespace

std::size_t Layout::fewest() const {
  std::size_t least = readings;
  for (const StudyCell& cell : cells) least = std::min(least, cell.values.size());
  return least;
}

std::size_t Layout::most() const {
  std::size_t greatest = 0;
  for (const StudyCell& cell : cells) greatest = std::max(greatest, cell.values.size());
  return greatest;
}

Layout lay_out(std::span<const StudyReading> readings) {
  require_one_each(readings);
  Layout layout;
  std::vector<std::size_t> part, person;
  for (const StudyReading& reading : readings) {
    part.push_back(index_of(layout.parts, reading.part));
    person.push_back(index_of(layout.persons, reading.person));
  }
  for (std::size_t p = 0; p < layout.parts.size(); ++p) {
    for (std::size_t o = 0; o < layout.persons.size(); ++o) layout.cells.push_back({p, o, {}});
  }
  for (std::size_t i = 0; i < readings.size(); ++i) {
    layout.cells[part[i] * layout.persons.size() + person[i]].values.push_back(readings[i].value);
  }
  layout.readings = readings.size();
  return layout;
}

std::string cell_name(const Layout& layout, const StudyCell& cell) {
  const std::string part = "part " + layout.parts[cell.part];
  return layout.persons.size() > 1 ? part + " by " + layout.persons[cell.person] : part;
}

}  // namespace studies
}  // namespace evenbevel
