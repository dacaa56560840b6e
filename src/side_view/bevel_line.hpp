#pragma once

#include <vector>

#include "cues.hpp"
#include "outline.hpp"

namespace evenbevel::side {

/// The border between flat and bevel, on the plane of the upper face.
struct BevelReading {
  double x_mm = 0.0, z_mm = 0.0;
  double u_mm = 0.0;  ///< From how sharply the picture places the border here.
  double gain = 0.0;  ///< Log likelihood ratio of a border against none.
  bool seen = false;
};

/// One continuous curve along the whole blade, a place every mm. Where there is no bevel it means
/// nothing.
struct BevelPath {
  std::vector<double> x_mm, z_mm;
  std::vector<double> gain;        ///< Under the path, of each place alone.
  std::vector<double> rival_gain;  ///< The same of the best other path, a mm and more beside.

  /// Share of the gain that the best other path has, from `from_mm` on. Near 1: either may be it.
  double rival(double from_mm) const;
  double at(double x_mm) const;
  double gain_at(double x_mm) const;
};

BevelPath find_bevel_path(const FaceImage& image, const Cues& cues, const Outline& outline,
                          double length_mm);

/// Sub-pixel places along the path between two x. Empty when the line may be chance.
std::vector<BevelReading> read_bevel_line(const FaceImage& image, const Cues& cues,
                                          const Outline& outline, const BevelPath& path,
                                          double from_mm, double to_mm);

/// Marks as not seen the first readings, while they lie on the arc by which the plunge line runs
/// into the bevel line: below where the line further on leads to.
void leave_out_plunge_arc(std::vector<BevelReading>& readings);

}  // namespace evenbevel::side
