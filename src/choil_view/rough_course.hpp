#pragma once

#include <optional>

#include "find_section.hpp"

namespace evenbevel::choil {

/// Rough borders at one height.
struct RoughAt {
  double left_mm = 0.0, right_mm = 0.0, behind_mm = 0.0;
  double left_slope = 0.0, right_slope = 0.0;
  double evidence = 0.0;  ///< Least of the rows about.
  bool before_paper = true;
};

/// Rough borders at any height: straight through the rows about it.
class RoughCourse {
 public:
  /// @param section  Must outlive this.
  explicit RoughCourse(const RoughSection& section) : section_(section) {}

  double first_mm() const { return section_.rows.front().down_mm; }
  double last_mm() const { return section_.rows.back().down_mm; }
  /// Empty below the last row and where rows are missing.
  std::optional<RoughAt> at(double down_mm) const;

 private:
  const RoughSection& section_;
};

}  // namespace evenbevel::choil
