#include <algorithm>
#include <cmath>

#include <opencv2/imgproc.hpp>

#include "report/edge_picture_parts.hpp"
#include "report/edge_quantities.hpp"

namespace evenbevel {
namespace {

/// Only every other page pixel of a trace is worth a point; `beyond` the box nothing is.
std::vector<cv::Point2d> thinned(const std::vector<cv::Point2d>& points, const Box& box,
                                 double beyond) {
  constexpr double kStep = 2.0;
  std::vector<cv::Point2d> kept;
  for (const cv::Point2d& p : points) {
    if (p.x < box.x - beyond || p.x > box.right() + beyond) continue;
    if (kept.empty() || std::abs(p.x - kept.back().x) >= kStep) kept.push_back(p);
  }
  return kept;
}

/// A trace is broken where it was not found for longer than `gap` page px.
void draw_broken_line(Canvas& canvas, const std::vector<cv::Point2d>& points, double gap,
                      const Stroke& pen) {
  std::vector<cv::Point2d> piece;
  for (const cv::Point2d& p : points) {
    if (!piece.empty() && std::abs(p.x - piece.back().x) > gap) {
      canvas.line(piece, pen);
      piece.clear();
    }
    piece.push_back(p);
  }
  canvas.line(piece, pen);
}

/// Longer than this between neighbours: not found there. A trace may be sampled every pixel or only
/// at stations.
double gap_of(const std::vector<cv::Point2d>& points) {
  std::vector<double> steps;
  for (std::size_t i = 1; i < points.size(); ++i) {
    steps.push_back(std::abs(points[i].x - points[i - 1].x));
  }
  if (steps.empty()) return 0.0;
  const auto middle = steps.begin() + static_cast<std::ptrdiff_t>(steps.size() / 2);
  std::nth_element(steps.begin(), middle, steps.end());
  constexpr double kFewPagePixels = 12.0;
  return std::max(kFewPagePixels, 3.0 * *middle);
}

void draw_traces(Canvas& canvas, const StripView& view, const BladeLine& line,
                 const EdgeResult& result) {
  for (const EdgeTrace& trace : result.traces) {
    std::vector<cv::Point2d> points;
    points.reserve(trace.points_px.size());
    for (const Eigen::Vector2d& q : trace.points_px) points.push_back(view.page(line.strip_of(q)));
    const double gap = gap_of(points);
    draw_broken_line(canvas, thinned(points, view.box, gap), gap, trace_pen(trace.kind));
  }
}

void draw_x_scale(Canvas& canvas, const StripView& view, double y, const BladeLine& line,
                  LengthUnit unit) {
  const double unit_mm = unit == LengthUnit::mm ? 1.0 : kMmPerInch;
  const auto x_at = [&](double page_x) {
    return line.x_of_s((page_x - view.box.x) / view.along - 0.5 + view.s_from) / unit_mm;
  };
  const double low = std::min(x_at(view.box.x), x_at(view.box.right()));
  const double high = std::max(x_at(view.box.x), x_at(view.box.right()));
  const double per_unit = view.box.width / (high - low);
  const double step = tick_step(per_unit, 140.0);
  constexpr int kFinePerStep = 5;
  const double fine = step / kFinePerStep;
  for (int tick = static_cast<int>(std::ceil(low / fine)); tick * fine <= high; ++tick) {
    const double x = tick * fine;
    const bool major = tick % kFinePerStep == 0;
    const double at = view.page({line.s_of_x(x * unit_mm), 0.0}).x;
    canvas.line({at, y}, {at, y + (major ? 14.0 : 8.0)}, {.width = major ? 3.0 : 1.5});
    const bool fits = at > view.box.x + 30.0 && at < view.box.right() - 90.0;
    if (major && fits) {
      canvas.text({at, y + 44.0}, tick_text(x, step), {.size = kSmall, .align = Align::centre});
    }
  }
  canvas.text({view.box.right(), y + 44.0}, unit == LengthUnit::mm ? "x, mm" : "x, in",
              {.size = kSmall, .align = Align::right});
}

void draw_sides(Canvas& canvas, const StripView& view) {
  canvas.text({view.box.x + 14.0, view.box.y + 38.0}, "RIGHT face", plate_font());
  canvas.text({view.box.x + 14.0, view.box.bottom() - 16.0}, "LEFT face", plate_font());
  canvas.text({view.box.right() - 14.0, view.box.y + 38.0}, "to the tip \u2192",
              plate_font(kSmall, Align::right));
}

// ---- the offset below the strip ----

/// Down is toward the left face, as in the strip above.
struct OffsetPlot {
  Box box;
  double px_per_mm = 1.0;

  double middle() const { return box.y + 0.5 * box.height; }
  double y(double offset_mm) const {
    return std::clamp(middle() + px_per_mm * offset_mm, box.y, box.bottom());
  }
};

struct PlotPoint {
  double x = 0.0;
  Measured offset;
};

/// Stations in the row's stretch, in runs without a gap.
std::vector<std::vector<PlotPoint>> plot_runs(const StripView& view, const BladeLine& line,
                                              const EdgeResult& result) {
  std::vector<std::vector<PlotPoint>> runs(1);
  for (const EdgeStation& station : result.stations) {
    const double x = view.page({line.s_of_x(station.x_mm), 0.0}).x;
    const std::optional<Measured> offset = measured(station.centreline_offset_mm);
    const bool here = x > view.box.x - 100.0 && x < view.box.right() + 100.0;
    if (offset && here) {
      runs.back().push_back({x, *offset});
    } else if (!runs.back().empty()) {
      runs.emplace_back();
    }
  }
  return runs;
}

void draw_band(Canvas& canvas, const OffsetPlot& plot, const std::vector<PlotPoint>& run) {
  constexpr double kSeenAsLine = 2.0;
  std::vector<cv::Point2d> outline;
  outline.reserve(2 * run.size());
  for (const PlotPoint& p : run) {
    outline.emplace_back(p.x, plot.y(p.offset.value + U95(p.offset)));
  }
  for (auto p = run.rbegin(); p != run.rend(); ++p) {
    outline.emplace_back(p->x, plot.y(p->offset.value - U95(p->offset)));
  }
  if (run.size() == 1) {
    const double x = run.front().x;
    canvas.line({x, outline[0].y}, {x, outline[1].y},
                {.colour = kBand, .width = 3.0 * kSeenAsLine});
  }
  canvas.area(outline, kBand.with_alpha(0.55));
}

/// At the end of the plot where the worst place's number does not stand.
void draw_plot_sides(Canvas& canvas, const Box& box, const StripView& view, const BladeLine& line,
                     const EdgeResult& result) {
  const EdgeStation* worst = worst_station(result);
  const bool at_right =
      worst != nullptr && view.page({line.s_of_x(worst->x_mm), 0.0}).x < box.x + 0.5 * box.width;
  const Font side{
      .size = kSmall, .colour = palette::kGrey, .align = at_right ? Align::right : Align::left};
  const double x = at_right ? box.right() - 10.0 : box.x + 10.0;
  canvas.text({x, box.y + 32.0}, "toward right", side);
  canvas.text({x, box.bottom() - 12.0}, "toward left", side);
}

void draw_offset_scale(Canvas& canvas, const OffsetPlot& plot, const ReportSettings& settings) {
  canvas.line({plot.box.x, plot.middle()}, {plot.box.right(), plot.middle()}, middle_pen());
  if (!settings.tolerance_mm) return;
  for (const double sign : {-1.0, 1.0}) {
    const double y = plot.middle() + sign * plot.px_per_mm * *settings.tolerance_mm;
    if (y < plot.box.y || y > plot.box.bottom()) continue;
    canvas.line({plot.box.x, y}, {plot.box.right(), y}, tolerance_pen());
  }
}

void draw_offset(Canvas& canvas, const StripView& view, const Box& box, const RowScales& scales,
                 const BladeLine& line, const EdgeResult& result, const ReportSettings& settings) {
  const OffsetPlot plot{.box = box, .px_per_mm = scales.offset_px_per_mm};
  canvas.fill(box, palette::kPale.with_alpha(0.6));
  const Clip clip(canvas, box);
  const auto runs = plot_runs(view, line, result);
  for (const auto& run : runs) draw_band(canvas, plot, run);
  draw_offset_scale(canvas, plot, settings);
  draw_plot_sides(canvas, box, view, line, result);
  for (const auto& run : runs) {
    std::vector<cv::Point2d> curve;
    curve.reserve(run.size());
    for (const PlotPoint& p : run) curve.emplace_back(p.x, plot.y(p.offset.value));
    canvas.line(curve, offset_pen());
  }
}

void mark_worst(Canvas& canvas, const StripView& view, const Box& plot, const RowScales& scales,
                const BladeLine& line, const EdgeResult& result, const ReportSettings& settings) {
  const EdgeStation* worst = worst_station(result);
  if (worst == nullptr) return;
  const double x = view.page({line.s_of_x(worst->x_mm), 0.0}).x;
  if (x < view.box.x || x > view.box.right()) return;
  const Measured& offset = *worst->centreline_offset_mm;
  const OffsetPlot lane{.box = plot, .px_per_mm = scales.offset_px_per_mm};
  const double y = lane.y(offset.value);
  constexpr double kBelowLabel = 54.0, kMark = 50.0;  // "RIGHT face" may stand there.
  canvas.line({x, view.box.y + kBelowLabel}, {x, view.box.y + kBelowLabel + kMark},
              {.colour = palette::kPaper, .width = 4.0, .casing = palette::kInk});
  canvas.circle({x, y}, 12.0, {.colour = palette::kInk, .width = 4.0});
  const Printed number = printed_length(offset, settings.unit, Sign::always);
  Font label = plate_font(kBody);
  const bool at_left = x < view.box.x + 0.5 * view.box.width;
  label.align = at_left ? Align::left : Align::right;
  const double away = y > lane.middle() ? plot.y + 44.0 : plot.bottom() - 18.0;
  canvas.text({x + (at_left ? 24.0 : -24.0), away}, "worst " + number.value, label);
  canvas.line({x, y + (y > lane.middle() ? -12.0 : 12.0)}, {x, away - 12.0}, {.width = 2.0});
}

}  // namespace

void draw_strip(Canvas& canvas, const StripView& view, const BladeLine& line,
                const EdgeResult& result, const Photo& photo) {
  const cv::Size wanted(static_cast<int>(std::lround(view.box.width)),
                        static_cast<int>(std::lround(view.box.height)));
  const cv::Size native(static_cast<int>(std::ceil(view.box.width / view.along)) + 1,
                        static_cast<int>(std::ceil(view.box.height / view.across)) + 1);
  const cv::Mat strip = line.strip(photo.pixels, view.s_from, view.t_from, native);
  cv::Mat large;
  cv::resize(strip, large, {}, view.along, view.across, cv::INTER_CUBIC);
  canvas.paste(large(cv::Rect({}, wanted) & cv::Rect({}, large.size())),
               {static_cast<int>(view.box.x), static_cast<int>(view.box.y)});
  const Clip clip(canvas, view.box);
  for (const auto& piece : mid_plane(result, line, view)) canvas.line(piece, middle_pen());
  draw_traces(canvas, view, line, result);
}

void draw_row(Canvas& canvas, double top, double s_from, const RowScales& scales,
              const BladeLine& line, const EdgeResult& result, const Photo& photo,
              const GrindPlan& plan, const ReportSettings& settings) {
  const double width = kPageWidth - 2.0 * kMargin;
  const StripView view{.box = {kMargin, top + kRibbonHeight, width, kStripHeight},
                       .s_from = s_from,
                       .t_from = 0.5 - 0.5 * kStripHeight / scales.across,
                       .along = scales.along,
                       .across = scales.across};
  draw_strip(canvas, view, line, result, photo);
  draw_sides(canvas, view);
  draw_ribbon(canvas, {kMargin, top, width, kRibbonHeight}, Face::right, view, line, plan,
              settings.unit);
  const Box ribbon{kMargin, view.box.bottom(), width, kRibbonHeight};
  draw_ribbon(canvas, ribbon, Face::left, view, line, plan, settings.unit);
  draw_x_scale(canvas, view, ribbon.bottom(), line, settings.unit);
  const Box plot{kMargin, ribbon.bottom() + 56.0, width, kPlotHeight};
  draw_offset(canvas, view, plot, scales, line, result, settings);
  mark_worst(canvas, view, plot, scales, line, result, settings);
}

}  // namespace evenbevel
