#pragma once

#include <span>
#include <vector>

#include "evenbevel/study.hpp"

namespace evenbevel::studies {

/// The readings by their place in the table of parts and persons.
struct Layout {
  std::vector<std::string> parts, persons;
  std::vector<StudyCell> cells;  ///< parts.size() x persons.size(), part by part.
  std::size_t readings = 0;

  const StudyCell& cell(std::size_t part, std::size_t person) const {
    return cells[part * persons.size() + person];
  }
  std::size_t fewest() const;  ///< Readings in a cell.
  std::size_t most() const;
  bool balanced() const { return fewest() == most(); }
};

/// @throws Error  A value that is not finite; the same part, person and trial twice.
Layout lay_out(std::span<const StudyReading> readings);

/// "part 3 by Ann", or "part 3" when there is one person.
std::string cell_name(const Layout& layout, const StudyCell& cell);

}  // namespace evenbevel::studies
