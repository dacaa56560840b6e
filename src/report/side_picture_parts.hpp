#pragma once

#include <optional>
#include <span>
#include <vector>

#include "advice/bevel_zones.hpp"
#include "evenbevel/side_report.hpp"
#include "report/face_map.hpp"
#include "report/picture_page.hpp"

namespace evenbevel {

// The parts of the side view's annotated picture, in page px.

/// A window on the blade frame, seen as the right face is: tip to the right, edge down.
struct FaceView {
  Box box;
  double x_from_mm = 0.0;  ///< At the left border of the box.
  double z_from_mm = 0.0;  ///< At its bottom.
  double px_per_mm = 1.0;

  double x(double x_mm) const { return box.x + (x_mm - x_from_mm) * px_per_mm; }
  cv::Point2d page(const Eigen::Vector2d& xz_mm) const {
    return {x(xz_mm.x()), box.bottom() - (xz_mm.y() - z_from_mm) * px_per_mm};
  }
  Eigen::Vector2d xz(cv::Point2d page_px) const {
    return {x_from_mm + (page_px.x - box.x) / px_per_mm,
            z_from_mm + (box.bottom() - page_px.y) / px_per_mm};
  }
};

Stroke face_trace_pen(FaceTrace::Kind kind);
Stroke face_pen(Face face);  ///< In the overlay.

/// One face's photo with its traces, its name and where the tip is.
void draw_face(Canvas& canvas, const FaceView& view, const SideResult& result,
               const FacePhoto& photo, const FaceMap& map);

/// What that face still has to lose along the blade, below its photo. Nothing is said where the two
/// faces were not compared.
void draw_face_ribbon(Canvas& canvas, const FaceView& view, Face face,
                      std::span<const BevelZone> zones, double step_mm, LengthUnit unit);

/// @param y  Page px of the scale's line.
void draw_x_ticks(Canvas& canvas, const FaceView& view, double y, LengthUnit unit);

/// Where the difference is worst, across a box.
void mark_worst_x(Canvas& canvas, const FaceView& view, const SideResult& result);

/// Outline, bevel lines and plunge lines of both faces, what differs drawn `factor` times as large.
void draw_overlay(Canvas& canvas, const FaceView& view, const SideResult& result, double factor);

/// By how much differences may be exaggerated for the overlay to stay clear.
double overlay_factor(const SideResult& result, double px_per_mm);

/// The bevel height difference along the blade with its band, and the worst place's number.
void draw_difference(Canvas& canvas, const FaceView& view, const Box& box, const SideResult& result,
                     const ReportSettings& settings);

/// Pieces of a trace between which it was not found.
std::vector<std::vector<cv::Point2d>> unbroken(const std::vector<cv::Point2d>& points);

}  // namespace evenbevel
