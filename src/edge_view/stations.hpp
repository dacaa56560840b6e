#pragma once

#include <optional>
#include <vector>

#include "evenbevel/edge_view.hpp"

namespace evenbevel::edge {

// What the stations along an edge say together, whether one photo gave them or several.

/// Causes of the offset's uncertainty at one station, in the order of its budget.
inline constexpr const char* kEdgeLocation = "edge location";
inline constexpr const char* kFlatsLocation = "flats location";
inline constexpr const char* kCarried = "flats carried along the blade";
inline constexpr const char* kBurr = "burr along the land";
inline constexpr const char* kLight = "light on the borders";
inline constexpr const char* kCorners = "broken corners";
inline constexpr const char* kWhichBorder = "which border is the flat's";
inline constexpr const char* kStrip = "strip of the flat below its rim";
inline constexpr const char* kDepth = "depth below the edge";  ///< Of the flats, seen aslant.
inline constexpr const char* kParallax = "parallax";           ///< From the card pose.
inline constexpr const char* kSquareness = "jaw squareness";
inline constexpr const char* kScale = "scale";

inline constexpr double kFacetAngleU = 0.044;  ///< 2.5 degrees, of an assumed facet angle.
/// Flats are planes: what their rims do in shorter waves (scratches, a jaw's shade) is no flat's.
inline constexpr double kRimWaveMm = 50.0;
/// Their curve is free in shorter ones no more: places within half of one share its error, mm.
inline constexpr double kRimSharedMm = 0.5 * kRimWaveMm;

/// Of an angle toward the card's +y: toward the blade's left face, which looks to the card's -y
/// when the tip is to the right.
double toward_left(double angle_rad, Tip tip);

/// The mean along the blade of what stations hold; empty when none does.
std::optional<Measured> mean_of(const std::vector<EdgeStation>& stations,
                                std::optional<Measured> EdgeStation::*which);
std::optional<Measured> mean_offset(const std::vector<EdgeStation>& stations);

/// Means, worst place and coverage, from the result's stations.
void summarise(EdgeResult& result, const std::optional<Measured>& mean_offset_mm);

}  // namespace evenbevel::edge
