#include <algorithm>
#include <cmath>
#include <limits>

#include "evenbevel/advice.hpp"
#include "report/ribbon.hpp"
#include "report/side_picture_parts.hpp"
#include "report/side_words.hpp"
#include "report/verdict.hpp"

namespace evenbevel {
namespace {

constexpr double kTitle = 50.0;  ///< Above a box.
constexpr double kTicks = 70.0;  ///< Below it.
constexpr double kPlot = 260.0;

struct Extent {
  Eigen::Vector2d low = Eigen::Vector2d::Constant(std::numeric_limits<double>::infinity());
  Eigen::Vector2d high = -low;
};

/// Of edge and spine, with some margin.
std::optional<Extent> extent_of(const SideResult& result) {
  Extent extent;
  for (const FaceTrace& trace : result.traces) {
    for (const Eigen::Vector2d& p : trace.points_mm) {
      if (!p.allFinite()) continue;
      extent.low = extent.low.cwiseMin(p);
      extent.high = extent.high.cwiseMax(p);
    }
  }
  const Eigen::Vector2d size = extent.high - extent.low;
  if (!(size.x() > 1.0) || !(size.y() > 0.1)) return std::nullopt;
  const Eigen::Vector2d margin(0.02 * size.x(), std::max(0.03 * size.x(), 0.08 * size.y()));
  extent.low -= margin;
  extent.high += margin;
  return extent;
}

FaceView view_of(const Extent& extent) {
  constexpr double kTallest = 700.0;
  const Eigen::Vector2d size = extent.high - extent.low;
  FaceView view;
  view.px_per_mm = std::min(kContentWidth / size.x(), kTallest / size.y());
  view.box = {kMargin, 0.0, std::floor(size.x() * view.px_per_mm),
              std::floor(size.y() * view.px_per_mm)};
  view.x_from_mm = extent.low.x();
  view.z_from_mm = extent.low.y();
  return view;
}

double draw_numbers(Canvas& canvas, double y, const SideResult& result,
                    const ReportSettings& settings) {
  const LengthUnit unit = settings.unit;
  const auto number = [&](const char* label, const std::optional<Measured>& value,
                          const std::string& note, Sign sign, bool bold) {
    if (!measured(value)) return;
    y = draw_number(canvas, y, label, printed_length(*value, unit, sign), note, bold);
  };
  const std::string worst = worst_place_words(result, unit);
  number("worst difference", result.bevel_height_difference_worst_mm, worst, Sign::always, true);
  number("mean difference", result.bevel_height_difference_mm, "left - right", Sign::always, true);
  number("plunge mismatch", result.plunge_mismatch_mm, "left - right", Sign::always, true);
  number("bevel height, left", result.bevel_height_left_mm, "", Sign::negative_only, false);
  number("bevel height, right", result.bevel_height_right_mm, "", Sign::negative_only, false);
  return y;
}

double draw_header(Canvas& canvas, const SideResult& result, const ReportSettings& settings) {
  const Verdict verdict = side_verdict(result, settings);
  double y =
      draw_banner(canvas, {verdict, side_headline(result, settings), side_view_words(result)});
  y = draw_numbers(canvas, y, result, settings);
  return draw_advice(canvas, y,
                     sentence(side_advice(result, settings.tolerance_mm).front(), settings.unit));
}

double draw_legend(Canvas& canvas, double top, const SideResult& result,
                   const ReportSettings& settings, double factor) {
  using Kind = FaceTrace::Kind;
  const std::vector<LegendEntry> on_photo = {{face_trace_pen(Kind::edge), "edge and spine"},
                                             {face_trace_pen(Kind::bevel), "bevel line"},
                                             {face_trace_pen(Kind::plunge), "plunge line"}};
  std::vector<LegendEntry> over = {
      {face_pen(Face::left), "left face"},
      {face_pen(Face::right), "right face"},
      {{.colour = kBand.with_alpha(0.55), .width = 26.0}, "95 % interval of the difference"}};
  if (settings.tolerance_mm) {
    over.push_back(
        {tolerance_pen(), "tolerance " + format_length(*settings.tolerance_mm, settings.unit)});
  }
  const double half = 0.5 * kContentWidth;
  double y = draw_legend_entries(canvas, {kMargin, top, half, 0.0}, on_photo);
  const bool both = result.faces.size() > 1;
  if (both) {
    y = std::max(y, draw_legend_entries(canvas, {kMargin + half, top, half, 0.0}, over));
  }
  const std::string how =
      (both ? "In the overlay the differences between the faces are "
              "drawn " +
                  factor_text(factor) +
                  " as large. The ribbon below a face says how far its bevel line has still to "
                  "come up. "
            : "") +
      std::string(
          "The tip is at the right; the left face is mirrored for that. Left and right are "
          "the knife's: edge down, tip away from you. ") +
      side_origin_sentence(result) + ".";
  return canvas.paragraph({kMargin, y + 10.0}, kContentWidth, how,
                          {.size = kSmall, .colour = palette::kGrey});
}

double title(Canvas& canvas, double top, const std::string& words) {
  canvas.text({kMargin, top + 36.0}, words, {.size = kSmall + 4.0, .bold = true});
  return top + kTitle;
}

double whole_photos(Canvas& canvas, double y, std::span<const FacePhoto> photos) {
  for (const FacePhoto& photo : photos) {
    y = draw_whole_photo(canvas, y + 10.0, *photo.photo) + 10.0;
  }
  return y;
}

/// Each face with its ribbon below it.
double draw_faces(Canvas& canvas, double y, FaceView& view, const SideResult& result,
                  std::span<const FacePhoto> photos, const SideSettings& with,
                  const ReportSettings& settings) {
  const std::vector<BevelZone> zones = bevel_zones(result, settings.tolerance_mm);
  const double ribbon = zones.empty() ? 0.0 : kRibbonHeight;
  for (const FacePhoto& photo : photos) {
    const std::optional<FaceMap> map = FaceMap::of(result, photo, with.thickness_mm);
    if (!map) continue;
    view.box.y = y;
    draw_face(canvas, view, result, photo, *map);
    mark_worst_x(canvas, view, result);
    draw_face_ribbon(canvas, view, photo.face, zones, with.step_mm, settings.unit);
    y = view.box.bottom() + ribbon + 14.0;
  }
  draw_x_ticks(canvas, view, view.box.bottom() + ribbon, settings.unit);
  return view.box.bottom() + ribbon + kTicks;
}

}  // namespace

AnnotatedPicture side_picture(const SideResult& result, const SideSettings& measured_with,
                              std::span<const FacePhoto> photos, const ReportSettings& settings) {
  constexpr int kTallest = 8000;
  Canvas canvas(kPageWidth, kTallest, palette::kPaper);
  double y = std::ceil(draw_header(canvas, result, settings));
  const int head_height = static_cast<int>(y);
  const std::optional<Extent> extent = extent_of(result);
  if (!extent) {
    const double bottom = whole_photos(canvas, y, photos) + kMargin;
    return {canvas.picture(static_cast<int>(bottom)), head_height};
  }
  FaceView view = view_of(*extent);
  y = draw_faces(canvas, y, view, result, photos, measured_with, settings);
  const double factor = overlay_factor(result, view.px_per_mm);
  if (result.faces.size() > 1) {
    view.box.y = title(canvas, y, "Both faces, their difference drawn " + factor_text(factor));
    draw_overlay(canvas, view, result, factor);
    mark_worst_x(canvas, view, result);
    draw_x_ticks(canvas, view, view.box.bottom(), settings.unit);
    y = title(canvas, view.box.bottom() + kTicks, "Bevel height, left - right");
    const Box plot{view.box.x, y, view.box.width, kPlot};
    draw_difference(canvas, view, plot, result, settings);
    y = plot.bottom() + 30.0;
  }
  const double bottom = draw_legend(canvas, y + 10.0, result, settings, factor) + kMargin;
  return {canvas.picture(static_cast<int>(bottom)), head_height};
}

}  // namespace evenbevel
