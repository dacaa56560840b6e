#pragma once

#include <vector>

namespace evenbevel {

/// A line of cells across a border, each the mean over a run of pixels along it: from the spine's
/// side down to the edge's.
struct BorderCells {
  std::vector<double> code;           ///< Brightness.
  std::vector<double> along, across;  ///< Squared differences along x and along z.
  double blur = 1.0;                  ///< Of the picture's borders, standard deviation, cells.
};

/// Log of how much likelier the cells are with a border at `at` than without one; `at` counts cells
/// from the first one's centre, between them too.
///
/// The picture is blurred, so a border is modelled as it is drawn: a blurred step in brightness on
/// a slope; scratches up the bevel whose strength falls as that step does, hence their square as
/// its square; streaks along the flat; and across the border the step's own difference. Windows
/// that begin beside the border would place it at whole pixels; logarithms of the squares alone
/// would let the rougher surface reach 1.0 to 1.5 px into the other.
struct BorderGain {
  double code = 0.0, grain = 0.0;
};
BorderGain border_gain(const BorderCells& cells, double at);

}  // namespace evenbevel
