#include <algorithm>
#include <cmath>
#include <limits>

#include "report/edge_picture_parts.hpp"
#include "report/edge_quantities.hpp"

namespace evenbevel {
namespace {

constexpr double kBottomHeight = 620.0;  ///< Inset and legend.

struct Stretch {
  double s_from = 0.0;
  double s_to = 0.0;
};

/// The measured part of the blade and a little more at both ends.
Stretch stretch_of(const EdgeResult& result, const BladeLine& line) {
  const double a = line.s_of_x(result.stations.front().x_mm);
  const double b = line.s_of_x(result.stations.back().x_mm);
  const double beyond = 0.01 * std::abs(b - a) + 2.0;
  return {std::min(a, b) - beyond, std::max(a, b) + beyond};
}

/// Distance between the flats in photo px: from their traces, else from the thickness.
double flats_apart_px(const EdgeResult& result, const BladeLine& line) {
  double low = std::numeric_limits<double>::infinity();
  double high = -low;
  for (const EdgeTrace& trace : result.traces) {
    if (trace.points_px.empty()) continue;
    const double t = line.strip_of(trace.points_px[trace.points_px.size() / 2]).y();
    low = std::min(low, t);
    high = std::max(high, t);
  }
  const std::optional<Measured> thickness = measured(result.thickness_mm);
  const double by_thickness = thickness ? thickness->value * result.scale_px_per_mm : 0.0;
  const double apart = std::max(high > low ? high - low : 0.0, by_thickness);
  return apart > 4.0 ? apart : 40.0;
}

int rows_for(double length_px) {
  constexpr double kRow_px = 800.0;  // photo px in a row: enlarged about twice
  return std::clamp(static_cast<int>(std::lround(length_px / kRow_px)), 1, 4);
}

double offset_limit(const EdgeResult& result, const ReportSettings& settings) {
  double limit_mm = 1.25 * settings.tolerance_mm.value_or(0.0);
  for (const EdgeStation& station : result.stations) {
    const std::optional<Measured> offset = measured(station.centreline_offset_mm);
    if (offset) limit_mm = std::max(limit_mm, std::abs(offset->value) + U95(*offset));
  }
  return std::max(limit_mm, 0.01);
}

RowScales scales_for(const EdgeResult& result, const ReportSettings& settings,
                     const BladeLine& line, const Stretch& stretch, int rows) {
  constexpr double kFlatsShare = 0.76;  // of the strip's height
  RowScales scales;
  scales.along = kContentWidth * rows / (stretch.s_to - stretch.s_from);
  const double wanted_across = kFlatsShare * kStripHeight / flats_apart_px(result, line);
  scales.across_factor = round_factor(1.15 * wanted_across / scales.along);
  scales.across = scales.across_factor * scales.along;
  const double per_mm = std::max(result.scale_px_per_mm, 1e-3) * scales.along;
  scales.offset_limit_mm = offset_limit(result, settings);
  scales.offset_factor = round_factor(0.5 * kPlotHeight / (1.05 * scales.offset_limit_mm) / per_mm);
  scales.offset_px_per_mm = scales.offset_factor * per_mm;
  return scales;
}

}  // namespace

const EdgeStation* worst_station(const EdgeResult& result) {
  if (!measured(result.centreline_offset_worst_mm)) return nullptr;
  const EdgeStation* nearest = nullptr;
  for (const EdgeStation& station : result.stations) {
    if (!measured(station.centreline_offset_mm)) continue;
    if (nearest == nullptr ||
        std::abs(station.x_mm - result.worst_x_mm) < std::abs(nearest->x_mm - result.worst_x_mm)) {
      nearest = &station;
    }
  }
  return nearest;
}

std::vector<std::vector<cv::Point2d>> mid_plane(const EdgeResult& result, const BladeLine& line,
                                                const StripView& view) {
  std::vector<std::vector<cv::Point2d>> pieces(1);
  for (const EdgeStation& station : result.stations) {
    const std::optional<Measured> offset = measured(station.centreline_offset_mm);
    if (!offset) {
      if (!pieces.back().empty()) pieces.emplace_back();
      continue;
    }
    Eigen::Vector2d strip = line.strip_of(station.px);
    strip.y() -= offset->value * result.scale_px_per_mm;
    pieces.back().push_back(view.page(strip));
  }
  return pieces;
}

AnnotatedPicture edge_picture(const EdgeResult& result, const Photo& photo,
                              const ReportSettings& settings) {
  constexpr int kTallest = 5000;
  Canvas canvas(kPageWidth, kTallest, palette::kPaper);
  double top = std::ceil(draw_header(canvas, result, settings));
  const int head_height = static_cast<int>(top);
  const std::optional<BladeLine> line = BladeLine::through(result, photo);
  if (!line) {
    const double bottom = draw_whole_photo(canvas, top, photo) + kMargin;
    return {canvas.picture(static_cast<int>(bottom)), head_height};
  }
  const Stretch stretch = stretch_of(result, *line);
  const int rows = rows_for(stretch.s_to - stretch.s_from);
  const RowScales scales = scales_for(result, settings, *line, stretch, rows);
  const GrindPlan plan = grind_plan(result, settings.wanted_land_mm, settings.tolerance_mm);
  for (int row = 0; row < rows; ++row) {
    const double s_from = stretch.s_from + row * kContentWidth / scales.along;
    draw_row(canvas, top, s_from, scales, *line, result, photo, plan, settings);
    top += kRowHeight;
  }
  const Box inset{kMargin, std::ceil(top) + 10.0, 760.0, kBottomHeight - 80.0};
  draw_inset(canvas, inset, *line, result, photo, settings);
  draw_legend(canvas, {inset.right() + 40.0, inset.y, kContentWidth - 800.0, inset.height}, result,
              settings, scales);
  return {canvas.picture(static_cast<int>(inset.bottom() + 90.0)), head_height};
}

}  // namespace evenbevel
