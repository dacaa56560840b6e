#pragma once

#include <filesystem>
#include <vector>

#include <Eigen/Core>
#include <opencv2/core/mat.hpp>

#include "evenbevel/card.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel {

/// The drawing of an edge-on blade in the lane of the edge card, to try the whole chain on before
/// the first blade: a white face between two rims in a black surround, two black lines on it, and a
/// short black bar across each half of the face for its plunge line. Black on white alone, so that
/// no printer's raster makes a border; everything stands a little aslant to the page, so that a
/// printer's dots average out along it.
///
/// s runs along the strip to the tip (to the right of the page), t across it to the left face (down
/// the page); (0, 0) is the card's middle. mm of a page printed at 100 %.
struct PracticeStrip {
  double turn_rad = radians(1.2);  ///< Of s against the card's x, counterclockwise.
  double half_length_mm = 105.0;
  double thickness_mm = 3.2;  ///< From rim to rim.
  double line_gap_mm = 0.5;   ///< From the middle of one line to that of the other.
  double line_width_mm = 0.2;
  double stated_at_mm = 100.0;  ///< Half way from one stated offset to the other,
  double end_offset_mm = 0.1;   ///< which is this at the handle end, and minus this at the tip's.
  double plunge_mm = -80.0;     ///< s midway between the plunge lines.
  double plunge_mismatch_mm = 0.6;         ///< Left minus right.
  double plunge_depth_mm = 1.0;            ///< |t| at which a plunge line is stated,
  double plunge_reach_mm = 0.3;            ///< and how far its bar goes to either side of it.
  double plunge_slope = 0.1763269807;      ///< Of the bar, s per t: 10 degrees.
  double surround_mm = 3.0;                ///< Black beyond either rim,
  double surround_half_length_mm = 108.0;  ///< and along.
  double mark_mm = 121.0;                  ///< |card x| of the marks' middles, at card y = 0.

  /// Of the two lines' middle, toward the left face.
  double offset_mm(double s_mm) const { return -end_offset_mm * s_mm / stated_at_mm; }
  double plunge_left_mm() const { return plunge_mm + 0.5 * plunge_mismatch_mm; }
  double plunge_right_mm() const { return plunge_mm - 0.5 * plunge_mismatch_mm; }
  Eigen::Vector2d card_mm(double s_mm, double t_mm) const;  ///< Card frame.
};

/// Draws the edge card with the strip in its lane. As `draw_card`.
void draw_practice_card(Sheet sheet, CardFormat format, const std::filesystem::path& path);

/// One of the two markers that stand in the lane beside the strip and tell it from a blade.
struct PracticeMark {
  bool tip_end = false;
  Eigen::Vector2d centre_px = Eigen::Vector2d::Zero();  ///< Stored pixel grid; to a few px.
};

/// @param grey  CV_8UC1, full resolution.
std::vector<PracticeMark> find_practice_marks(const cv::Mat& grey);

}  // namespace evenbevel
