#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "scene.hpp"

namespace evenbevel::test {

/// What a ray meets. Each side of a border has a name of its own, so that a pixel whose corners
/// meet different names is one that a border crosses.
enum class Region : std::uint8_t {
  table,
  white,
  black,
  lane,
  card_cut,
  jaw,
  gap,
  face_left,
  line_left,
  face_middle,
  line_right,
  face_right,
  land,
  facet_left,
  facet_right,
  burr,
  chamfer_left,
  chamfer_right,
  flat_left,
  flat_right,
  blade_end
};

/// Colour of the print and of the table around it; empty for blade, jaws and slot.
inline std::optional<Paint> printed_paint(Region region, const Paints& paints) {
  switch (region) {
    case Region::table:
      return paints.table;
    case Region::white:
      return paints.white;
    case Region::black:
      return paints.black;
    case Region::lane:
      return paints.lane;
    default:
      return std::nullopt;
  }
}

/// The edge card's print: 26 x 8 cells of 10 mm, black when column + row is even, markers from 200
/// of the 5x5 dictionary of 1000 in the white ones, rows 3 and 4 the lane; on a sheet 280 x 110 mm.
class PrintedCard {
 public:
  explicit PrintedCard(const SetUp& set_up);

  /// Region at a point of the card's plane, mm in the card frame, the slot left aside.
  Region at(double x_mm, double y_mm) const;
  bool in_slot(double x_mm, double y_mm) const;
  /// Within 3.6 mm of a grid node: as far as a corner's surroundings are looked at.
  bool near_node(double x_mm, double y_mm) const;

 private:
  static constexpr int kColumns = 26, kRows = 8, kModules = 7;
  using Marker = std::array<bool, static_cast<std::size_t>(kModules* kModules)>;  ///< true: white

  const SetUp& set_up_;
  double cells_per_mm_x_, cells_per_mm_y_;
  std::vector<Marker> markers_;  ///< One a cell; unused where the cell carries none.
};

}  // namespace evenbevel::test
