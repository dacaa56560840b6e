#pragma once

#include <cstddef>
#include <vector>

#include "plunge_outline.hpp"

namespace evenbevel::edge {

/// One row of a patch across a border: face alone, then columns that show facet too, more and more
/// of it, then as much as where the row ends.
struct PlacedRow {
  int mixed = 0, steady = 0;  ///< First columns of the second and of the third stretch.
  double lean_mm = 0.0;       ///< To be added to a for the place along the facet.
};

struct PlacedPatch {
  std::vector<PlacedRow> rows;
  PlungeGrid facet;  ///< Share of each sample; from each row's `mixed` on alone.
};

/// Neighbours in a row that show as much of the facet.
struct PlacedRun {
  int row, begin, end;  ///< Columns; the last is not among them.
  double facet;         ///< Share.

  double face() const { return 1.0 - facet; }
  int count() const { return end - begin; }
};

template <class Put>
void for_runs(const PlacedPatch& placed, const Put& put) {
  const auto columns = static_cast<int>(placed.facet.cols());
  for (int r = 0; r < static_cast<int>(placed.rows.size()); ++r) {
    const PlacedRow& row = placed.rows[static_cast<std::size_t>(r)];
    if (row.mixed > 0) put(PlacedRun{r, 0, row.mixed, 0.0});
    for (int c = row.mixed; c < row.steady; ++c) put(PlacedRun{r, c, c + 1, placed.facet(r, c)});
    if (row.steady < columns) put(PlacedRun{r, row.steady, columns, placed.facet(r, row.steady)});
  }
}

/// Variance of a sample's light on either side.
struct SideVariance {
  double face = 1.0, facet = 1.0;

  double of(double facet_share) const { return (1.0 - facet_share) * face + facet_share * facet; }
};

/// What the samples miss of the levels, trends and scatters that suit them best, so placed.
struct LevelsFit {
  PlungeGrid missed;
  SideVariance variance;
  double loss = 0.0;  ///< Minus log likelihood.
};
LevelsFit fit_levels(const PlungePatch& patch, const PlacedPatch& placed);

}  // namespace evenbevel::edge
