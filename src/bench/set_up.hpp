#pragma once

#include <optional>
#include <string>

#include "bench/kinds.hpp"
#include "evenbevel/edge_view.hpp"

namespace evenbevel::bench {

/// What is on the bench, and how.
struct SetUp {
  BenchView view = BenchView::edge;
  std::string knife = {};
  std::optional<double> thickness_mm = {};
  std::optional<double> tolerance_mm = {};  ///< Of what its view judges.

  bool operator==(const SetUp&) const = default;
  /// Photos of both may go into one report.
  bool same_blade(const SetUp& other) const {
    return view == other.view && knife == other.knife && thickness_mm == other.thickness_mm;
  }
};

/// What a photo did not tell, as its maker has answered. It holds for the photos of one set: the
/// next blade may be clamped the other way round.
struct PhotoAnswers {
  std::optional<Tip> tip = {};
  std::optional<Stage> shows = {};
};

}  // namespace evenbevel::bench
