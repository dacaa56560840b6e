#include <algorithm>

#include "report/edge_picture_parts.hpp"

namespace evenbevel {
namespace {

/// Steel to come off and steel missing are told apart by the hatching as well.
void draw_hatching(Canvas& canvas, const Box& box, Standing what) {
  if (what == Standing::on_line) return;
  constexpr double kApart = 16.0;
  const double lean = what == Standing::outside ? box.height : -box.height;
  const Clip clip(canvas, box);
  for (double x = box.x - box.height; x < box.right() + box.height; x += kApart) {
    canvas.line({x, box.bottom()}, {x + lean, box.y},
                {.colour = palette::kPaper.with_alpha(0.45), .width = 2.0});
  }
}

Colour ribbon_colour(Standing what) {
  if (what == Standing::outside) return palette::kVermilion;
  return what == Standing::past ? palette::kPurple : palette::kPale;
}

}  // namespace

void draw_ribbon(Canvas& canvas, const Box& box, Face face, const StripView& view,
                 const BladeLine& line, const GrindPlan& plan) {
  const Clip clip(canvas, box);
  for (const Zone& zone : plan.zones) {
    const double a = view.page({line.s_of_x(zone.from_mm), 0.0}).x;
    const double b = view.page({line.s_of_x(zone.to_mm), 0.0}).x;
    const double left = std::max(std::min(a, b), box.x);
    const double right = std::min(std::max(a, b), box.right());
    if (right <= left) continue;
    const Standing what = face_standing(zone, face, plan.context);
    const Box part{left + 1.0, box.y, right - left - 2.0, box.height};
    canvas.fill(part, ribbon_colour(what));
    draw_hatching(canvas, part, what);
    Font font = plate_font(kSmall, Align::centre);
    if (what == Standing::on_line) font.plate.alpha = 0.0;
    const std::string words = face_words(zone, face, plan.context);
    if (canvas.text_width(words, font) > part.width - 16.0) continue;
    canvas.text({part.x + 0.5 * part.width, part.bottom() - 10.0}, words, font);
  }
}

}  // namespace evenbevel
