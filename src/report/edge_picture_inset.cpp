#include <algorithm>
#include <array>
#include <cmath>

#include "report/edge_picture_parts.hpp"
#include "report/edge_quantities.hpp"

namespace evenbevel {
namespace {

/// Half of what the inset shows across the blade, in photo px: both lines, the mid-plane and
/// something around them.
double half_across_px(const EdgeResult& result, const EdgeStation& worst) {
  const std::optional<Measured> width =
      result.stage == Stage::scribed ? worst.line_gap_mm : worst.land_width_mm;
  const double width_mm = measured(width) ? width->value : 0.25;
  const double reach_mm = 0.5 * width_mm + std::abs(worst.centreline_offset_mm->value);
  return std::max(8.0, 1.7 * reach_mm * result.scale_px_per_mm);
}

void arrow(Canvas& canvas, cv::Point2d from, cv::Point2d to, const Stroke& pen) {
  canvas.line(from, to, pen);
  const double head = to.y > from.y ? -14.0 : 14.0;
  const std::array tip = {to + cv::Point2d(-10.0, head), to, to + cv::Point2d(10.0, head)};
  canvas.line(tip, pen);
}

}  // namespace

void draw_inset(Canvas& canvas, const Box& box, const BladeLine& line, const EdgeResult& result,
                const Photo& photo, const ReportSettings& settings) {
  const EdgeStation* worst = worst_station(result);
  if (worst == nullptr) return;
  const Eigen::Vector2d middle = line.strip_of(worst->px);
  const double zoom = 0.5 * box.height / half_across_px(result, *worst);
  const StripView view{.box = box,
                       .s_from = middle.x() + 0.5 - 0.5 * box.width / zoom,
                       .t_from = middle.y() + 0.5 - 0.5 * box.height / zoom,
                       .along = zoom,
                       .across = zoom};
  draw_strip(canvas, view, line, result, photo);
  const double offset_px = worst->centreline_offset_mm->value * result.scale_px_per_mm;
  const cv::Point2d land = view.page(middle);
  const cv::Point2d plane = view.page({middle.x(), middle.y() - offset_px});
  const Stroke pen{.colour = palette::kPaper, .width = 5.0, .casing = palette::kInk};
  if (std::abs(land.y - plane.y) > 30.0) {
    arrow(canvas, plane, land, pen);
  } else {  // too short for arrows between: they come from outside, as on a drawing
    const double side = land.y > plane.y ? 1.0 : -1.0;
    arrow(canvas, {plane.x, plane.y - 60.0 * side}, plane, pen);
    arrow(canvas, {land.x, land.y + 60.0 * side}, land, pen);
  }
  const Printed number = printed_length(*worst->centreline_offset_mm, settings.unit, Sign::always);
  const Colour plate = palette::kPaper.with_alpha(0.85);
  canvas.text({land.x + 36.0, 0.5 * (land.y + plane.y) + 14.0}, number.value,
              {.size = kBody + 4.0, .bold = true, .plate = plate});
  canvas.frame(box, {.width = 4.0});
  canvas.text({box.x, box.bottom() + 44.0},
              "worst place, x = " + printed_position(worst->x_mm, settings.unit) + ", " +
                  factor_text(std::round(zoom)) + " (photo pixels)",
              {.size = kSmall});
}

}  // namespace evenbevel
