#pragma once

#include <string>
#include <vector>

#include "advice/grinding.hpp"
#include "evenbevel/report.hpp"
#include "report/blade_line.hpp"
#include "report/picture_page.hpp"
#include "report/ribbon.hpp"

namespace evenbevel {

/// A window on the straightened blade: photo px times `along` and `across` give page px.
struct StripView {
  Box box;
  double s_from = 0.0;  ///< Of the photo pixel whose left border lies on the box's.
  double t_from = 0.0;
  double along = 1.0;
  double across = 1.0;

  cv::Point2d page(const Eigen::Vector2d& strip_px) const {
    return {box.x + (strip_px.x() - s_from + 0.5) * along,
            box.y + (strip_px.y() - t_from + 0.5) * across};
  }
};

/// Scales that all rows share.
struct RowScales {
  double along = 1.0;  ///< Page px per photo px, along the blade.
  double across = 1.0;
  double across_factor = 1.0;     ///< across / along, stated on the page.
  double offset_px_per_mm = 1.0;  ///< Page px, in the offset plot.
  double offset_factor = 1.0;     ///< Against the scale along the blade, stated on the page.
  double offset_limit_mm = 0.1;   ///< What the plot holds on either side of its middle.
};

inline constexpr double kStripHeight = 380.0;
inline constexpr double kPlotHeight = 230.0;
inline constexpr double kRowHeight = kStripHeight + 2.0 * kRibbonHeight + kPlotHeight + 100.0;

/// The middle of the flats as seen at the edge's height: what the offset is measured from.
std::vector<std::vector<cv::Point2d>> mid_plane(const EdgeResult& result, const BladeLine& line,
                                                const StripView& view);

const EdgeStation* worst_station(const EdgeResult& result);

Stroke trace_pen(EdgeTrace::Kind kind);
Stroke offset_pen();

void draw_strip(Canvas& canvas, const StripView& view, const BladeLine& line,
                const EdgeResult& result, const Photo& photo);

/// What one face still has to lose, along the blade.
void draw_ribbon(Canvas& canvas, const Box& box, Face face, const StripView& view,
                 const BladeLine& line, const GrindPlan& plan, LengthUnit unit);

/// A stretch of the blade: the photo between its ribbons, its x scale, and the offset below it.
void draw_row(Canvas& canvas, double top, double s_from, const RowScales& scales,
              const BladeLine& line, const EdgeResult& result, const Photo& photo,
              const GrindPlan& plan, const ReportSettings& settings);

/// The worst place, magnified alike along and across.
void draw_inset(Canvas& canvas, const Box& box, const BladeLine& line, const EdgeResult& result,
                const Photo& photo, const ReportSettings& settings);

void draw_legend(Canvas& canvas, const Box& box, const EdgeResult& result,
                 const ReportSettings& settings, const RowScales& scales);

/// Verdict, numbers, advice; returns where the rest may begin.
double draw_header(Canvas& canvas, const EdgeResult& result, const ReportSettings& settings);

}  // namespace evenbevel
