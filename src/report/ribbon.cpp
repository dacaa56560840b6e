#include "report/ribbon.hpp"

#include "report/picture_page.hpp"

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

void draw_ribbon_part(Canvas& canvas, const Box& part, Standing what, const std::string& words) {
  canvas.fill(part, ribbon_colour(what));
  draw_hatching(canvas, part, what);
  Font font = plate_font(kSmall, Align::centre);
  if (what == Standing::on_line) font.plate.alpha = 0.0;
  if (canvas.text_width(words, font) > part.width - 16.0) return;
  canvas.text({part.x + 0.5 * part.width, part.bottom() - 10.0}, words, font);
}

}  // namespace evenbevel
