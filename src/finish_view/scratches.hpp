#pragma once

#include <vector>

#include "trace_line.hpp"

namespace evenbevel::finish {

/// Shorter ones are told from grains and crumbs too seldom; those counted have this length.
inline constexpr double kShortestMm = 2.0;

/// A line that is a scratch.
struct Groove {
  TracedLine line;
  std::vector<bool> shines;  ///< A photo each.
};

/// Of the lines traced those that are straight, long and strong enough, that are no border between
/// two levels of light nor shading, that do not run along outline, bevel line or plunge line, and
/// that do not shine where a groove cannot; pieces of one scratch joined.
std::vector<Groove> scratches_of(const FlatFace& face, const LyingFace& lying,
                                 std::vector<TracedLine> lines);

}  // namespace evenbevel::finish
