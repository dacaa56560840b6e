#pragma once

#include <string>
#include <vector>

#include "blade.hpp"
#include "lane_picture.hpp"
#include "metric.hpp"
#include "plunge.hpp"
#include "strip.hpp"

namespace evenbevel::edge {

// The quick look: no card, the stock thickness is the ruler. A plane square to the optical axis,
// at the distance that the thickness gives, stands for the card. What that leaves unknown is in its
// covariance (the tilt across the blade, and with it the camera's place beside it) and in other
// views that would show the same picture.

/// A way in which camera or plane may differ from what is assumed, by one standard uncertainty.
struct OtherView {
  std::string cause;
  CameraModel camera;
  Transform<Camera, Card> T_camera_card;
  bool in_covariance = false;  ///< The pose's covariance holds it already.
};

/// What takes the card's place: card x along the blade, toward the right of the upright picture
/// (upward when the blade stands upright in it); the flats' rims lie kUsualEdgeHeightMm above.
struct StandIn {
  CardPose pose;
  double width_low_mm = 0.0, width_high_mm = 0.0;  ///< Of the flats, where their rims lie.
  double which_border_u_mm = 0.0;  ///< Of the middle: borders beside each other, one the flat's.
  std::vector<OtherView> others;
};

/// Finds the blade in the whole picture.
/// @throws Error  None, or pairs of borders of which each may be its flats.
StandIn find_without_card(const Photo& photo, const CameraModel& camera,
                          const EdgeSettings& settings);

/// Nothing but the thickness says which of several borders beside each other is the flat's: what
/// that leaves unknown of the middle, standard uncertainty.
double which_border_u_mm(const Located& at);

/// Of the pairs that the search found as good as the chosen one, those that are as clearly seen.
std::vector<FlatsPair> as_clear(const Located& at, const std::vector<FlatsPair>& rivals);

/// @throws Error  Always: no blade.
[[noreturn]] void fail_quick_look();

/// Adds to every station and to the mean a budget line: by how much `other` differs.
void widen(Metric& metric, const Metric& other, const std::string& cause);

/// Adds to every station and to the mean a budget line.
void add_line(Metric& metric, const std::string& cause, double u_mm);

/// What the views leave unknown of the distance between the plunge lines, standard uncertainty.
double plunge_mismatch_u_mm(const StandIn& stand_in, const StripFrame& frame,
                            const PlungeLines& plunges, const FlatsPair& flats);

/// Widths are as uncertain as the ruler: which borders are T apart, and how well they are located.
/// An apparent thickness means nothing then and is left out.
void widen_scale(Metric& metric, const StandIn& stand_in, double thickness_mm,
                 double thickness_u_mm, double px_per_mm);

/// Without a printed border, the flats' own must be sharp; a soft one may be shifted by what lies
/// beside it. Adds that to the budget.
/// @throws Error  Too soft.
void judge_sharpness(Metric& metric, const LaneImage& image, const StripFrame& frame,
                     const FlatsPair& flats, double inner_blur_px);

/// What every quick look says first, and what would narrow its intervals.
void add_quick_look_words(EdgeResult& result, const CameraModel& camera, const Photo& photo,
                          bool stage_given);

}  // namespace evenbevel::edge
