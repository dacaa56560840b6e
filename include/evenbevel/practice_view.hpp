#pragma once

#include <optional>
#include <vector>

#include "evenbevel/camera.hpp"
#include "evenbevel/card.hpp"
#include "evenbevel/edge_view.hpp"
#include "evenbevel/photo.hpp"
#include "evenbevel/practice_strip.hpp"
#include "evenbevel/uncertainty.hpp"

namespace evenbevel {

// The practice strip measured like a blade of height zero, and held against what is printed: what
// printer, paper, phone, light and program together make of known numbers. The card's pose says
// where the strip lies; its borders are read, and their intervals made, as a blade's with lines
// are. What a blade has and paper has not (broken corners, grooves, jaws, heights) takes no part.

enum class PracticeCheckKind {
  offset_handle,    ///< Of the two lines' middle, at the handle end of the strip,
  offset_middle,    ///< in its middle,
  offset_tip,       ///< and at the tip's end.
  rim_distance,     ///< As a blade's thickness.
  line_gap,         ///< Between the two lines' middles.
  plunge_mismatch,  ///< Left minus right.
  printed_bar,      ///< Measured by the maker; only with --printed-bar.
};

/// One printed number and what became of it.
struct PracticeCheck {
  PracticeCheckKind kind = PracticeCheckKind::offset_middle;
  double printed_mm = 0.0;  ///< On this print: with the printed bar as the maker measured it.
  Measured measured_mm;

  double difference_mm() const { return measured_mm.value - printed_mm; }
  bool inside() const;  ///< The interval holds what is printed.
};

struct PracticeSettings {
  PrintScale print = {};
};

struct PracticeResult {
  /// As of a blade; x = 0 at the middle of the strip, and offsets are not taken off what is
  /// printed.
  EdgeResult as_blade;
  std::vector<PracticeCheck> checks;        ///< In the order of their kinds.
  std::vector<Eigen::Vector2d> plunges_px;  ///< Left, right, where they were read.
  int stations = 0;                         ///< With an offset,
  int stations_inside = 0;                  ///< of which so many hold the printed one.
  double offset_rms_mm = 0.0;               ///< Of all stations, against what is printed.
  double bend_mm = 0.0, bend_u_mm = 0.0;    ///< Of the paper, highest minus lowest.
  double print_off_percent = 0.0;  ///< Of the bar along the page, plus: large. 0: not measured.

  bool paper_is_bent() const;
  bool photo_is_soft() const;
  bool holds() const;  ///< Every number inside, the paper flat, the photo sharp.
};

/// Null: not measured.
const PracticeCheck* find(const std::vector<PracticeCheck>& checks, PracticeCheckKind kind);

/// Offset printed at a place of the strip, x from its middle to the tip, on a page of that scale.
double printed_offset_mm(double x_mm, const PrintScale& print);

/// @throws Error  No card, another card, one without the strip, one that is bent or half hidden, a
///                blurred or over-exposed photo, or a strip of which too little could be read.
PracticeResult practice_view(const Photo& photo, const CameraModel& camera,
                             const PracticeSettings& settings);

}  // namespace evenbevel
