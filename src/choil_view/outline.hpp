#pragma once

#include <optional>
#include <vector>

#include "find_section.hpp"
#include "section_plane.hpp"

namespace evenbevel::choil {

/// The end face's borders in one band across the section, sub-pixel. Plane's mm.
struct OutlinePoint {
  double down_mm = 0.0;
  double left_mm = 0.0, right_mm = 0.0;
  double u_left_mm = 0.0, u_right_mm = 0.0;  ///< From the fit alone.
  double u_width_mm = 0.0;  ///< Of left minus right, from the fit: near the edge the two share
                            ///< one fit and pull each other.
  double half_band_mm = 0.0;
  bool before_paper = true;  ///< False: before or between the jaws.
};

struct Outline {
  std::vector<OutlinePoint> points;            ///< Downward.
  double edge_down_mm = 0.0, edge_y_mm = 0.0;  ///< Where the section ends in its edge.
  double u_edge_down_mm = 0.0;                 ///< From the fit alone.
  double above_edge_mm = 0.0;  ///< How far what lies behind shows above it; 0: not seen.
  double blur_px = 0.0;        ///< Gaussian sigma of the end face's border.
  double px_per_mm = 0.0;      ///< At the edge.
  double contrast = 0.0;       ///< Paper minus steel, linear light.
  double clipped_share = 0.0;  ///< Of the paper beside the section.
  int dropped = 0;             ///< Bands left out: off the course of those about them.
  double coverage = 0.0;       ///< Share of the section before the paper that was read.
  bool behind_seen = false;    ///< The blade behind shows beside the end face.
};

/// Reads the outline finely along what was found roughly.
/// @throws Error  Too few bands can be read.
Outline read_outline(const Patch& patch, const SectionPlane& plane, const RoughSection& rough);

}  // namespace evenbevel::choil
