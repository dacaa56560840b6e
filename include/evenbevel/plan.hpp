#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "evenbevel/units.hpp"

namespace evenbevel {

/// What a set-up is made of. The blade's section is symmetric; a flat grind. Lengths in mm,
/// angles in rad. "Side" is one face's share, measured from the mid-plane.
enum class PlanQuantity {
  stock,                ///< Thickness between the flats, at the plunge line.
  land,                 ///< Thickness of the unsharpened edge: between the two scribe lines.
  scribe_height,        ///< Of either line, from the face that it is gauged from.
  drill,                ///< Diameter of a drill that laid on the plate marks at the scribe height.
  bevel_height,         ///< Edge to bevel line, along the mid-plane.
  bevel_angle,          ///< A side.
  bevel_included,       ///< Both sides.
  bevel_face,           ///< Edge to bevel line along the ground face.
  blade_height,         ///< Edge to spine.
  flat_height,          ///< Bevel line to spine; 0 with a full flat grind.
  sharpening_angle,     ///< A side.
  sharpening_included,  ///< Both sides.
  sharpened_width,      ///< Of the sharpened bevel, along its face.
  sharpened_height,     ///< The same along the mid-plane.
  shoulder_thickness,   ///< Steel left where the sharpened bevel ends.
  length,               ///< Plunge line to tip.
  tip_thickness,        ///< Between the flats at the tip.
  taper,                ///< Stock minus tip thickness.
  taper_angle,          ///< Distal taper, a side.
  rest_length,          ///< Of rest or jig, from the end it turns about to the shim.
  shim,                 ///< Under the rest, to tilt it by the bevel angle.
};

inline constexpr int kPlanQuantities = static_cast<int>(PlanQuantity::shim) + 1;

/// How a quantity is called: "bevel_height" in JSON, --bevel-height on the command line.
std::string_view name(PlanQuantity quantity);
std::string_view label(PlanQuantity quantity);  ///< "bevel height"
bool is_angle(PlanQuantity quantity);

// ------------------------------------------------------------------------------------- solving

struct PlanValue {
  double value = 0.0;  ///< mm or rad.
  bool given = false;
  std::vector<PlanQuantity> from;  ///< The given quantities that it follows from.
};

using PlanValues = std::map<PlanQuantity, PlanValue>;

/// Works out every quantity that the given ones settle: elementary trigonometry of the wedge,
///   stock - land = 2 scribe_height = drill,   tan(bevel_angle) = scribe_height / bevel_height.
/// More than needed may be given, if it agrees: to 0.01 mm or 0.01 degrees in one of the values.
/// @param given  mm, rad.
/// @throws Error  A value out of its range, or values that contradict each other; both numbers.
PlanValues solve_plan(const std::map<PlanQuantity, double>& given);

/// What could not be worked out, and the fewest further values that would settle it.
struct PlanGap {
  std::string what;                             ///< "bevel angle and included angle"
  std::vector<std::vector<PlanQuantity>> give;  ///< One of these, each whole; at most two.
};
std::vector<PlanGap> plan_gaps(const PlanValues& values);

// -------------------------------------------------------------------------------------- drills

enum class DrillSeries { number, letter, fraction, metric };
std::string_view name(DrillSeries series);

struct Drill {
  DrillSeries series = DrillSeries::number;
  std::string name;  ///< "#43", "F", "3/32 in", "2.3 mm"
  double diameter_mm = 0.0;
};

/// Number 80 to 1, letter A to Z, 1/64 to 1 in by 64ths, 0.2 to 25 mm; each series from small to
/// large. Sources: numbers and letters ANSI/ASME B94.11M, metric sizes BS 328.
const std::vector<Drill>& drills();

/// "#43", "no 43", "F" and the like, either case. Empty when there is no such size.
std::optional<Drill> find_drill(std::string_view name);

/// A drill laid on the plate beside the blade: its axis, and so its point, stands at d / 2.
/// Scribed with it from either face, the two lines leave a gap of stock - d.
struct DrillChoice {
  Drill drill;
  double line_mm = 0.0;  ///< From the face: d / 2.
  double gap_mm = 0.0;
  bool nearest = false;  ///< Of all series.
};

/// From each series the drill that leaves just the land or the next more, and the one that leaves
/// the next less; never one that leaves no gap, nor one of more than three times the land.
std::vector<DrillChoice> drill_choices(double stock_mm, double land_mm);

// ---------------------------------------------------------------------------------------- sums

struct PlanRequest {
  std::map<PlanQuantity, double> given = {};  ///< mm, rad.
  double facet_angle_rad = radians(45.0);
  double station_step_mm = 10.0;
  std::vector<double> depths_mm = {1.0, 5.0, 10.0};  ///< Behind the edge, the least first.
  std::string knife = {};                            ///< Its name, for the card. May be empty.
};

struct EdgeFacet {
  double height_mm = 0.0;  ///< How far the edge facets run up: scribe height / tan(angle).
  double width_mm = 0.0;   ///< Along the facet.
};

struct BehindEdge {
  double depth_mm = 0.0;
  double ground_mm = 0.0;              ///< Before sharpening; no more than the stock.
  std::optional<double> sharpened_mm;  ///< From the sharpened edge, no height lost.
};

/// A rest or jig plate that the blade's flat lies on, tilted to the belt.
struct RestSetting {
  std::string what;                    ///< "bevel"
  double to_belt_rad = 0.0;            ///< Between plate and belt.
  double from_square_rad = 0.0;        ///< What is missing to 90 degrees.
  std::optional<double> shim_mm = {};  ///< From parallel to the belt: rest length sin(angle).
};

/// Millimetres that the bevel line moves up the face for each millimetre taken off.
struct BevelLineShift {
  double off_bevel = 0.0;  ///< Off the bevel, square to it: 1 / sin(angle).
  double off_flat = 0.0;   ///< Off the flat: the line comes down, 1 / tan(angle).
};

struct PlanStation {
  double x_mm = 0.0;  ///< From the plunge line to the tip.
  double thickness_mm = 0.0;
  double off_face_mm = 0.0;  ///< To be taken off each face for the taper.
  std::optional<double> scribe_height_mm;
  std::optional<double> bevel_height_mm;  ///< When the angle is kept.
  std::optional<double> bevel_angle_rad;  ///< When the bevel height is kept.
};

struct Plan {
  PlanRequest request;
  PlanValues values;
  std::optional<double> far_line_mm;  ///< The second line gauged from the same face.
  std::vector<DrillChoice> drill_choices;
  std::optional<EdgeFacet> facet;
  std::vector<RestSetting> rests;
  std::vector<BehindEdge> behind_edge;  ///< At 1, 5 and 10 mm.
  std::optional<BevelLineShift> bevel_line;
  std::optional<double> spine_lift_mm;  ///< Spine's near corner above the stone when sharpening.
  std::vector<PlanStation> stations;
  std::vector<PlanGap> gaps;

  std::optional<double> at(PlanQuantity quantity) const;  ///< mm, rad.
};

/// @throws Error  As solve_plan; nothing given; nothing that follows from what is given.
Plan make_plan(const PlanRequest& request);

}  // namespace evenbevel
