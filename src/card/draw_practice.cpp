#include <cmath>
#include <string>
#include <utility>
#include <vector>

#include "draw_page.hpp"
#include "evenbevel/practice_strip.hpp"
#include "practice_marks.hpp"

namespace evenbevel {
namespace {

/// Draws in the strip's own coordinates.
class StripPen {
 public:
  StripPen(Pen& pen, const Drawing& drawing, const PracticeStrip& strip)
      : pen_(pen), drawing_(drawing), strip_(strip) {}

  struct Place {
    double s_mm, t_mm;
  };
  void shape(const std::vector<Place>& outline, Ink ink) {
    std::vector<Eigen::Vector2d> on_page;
    for (const Place& at : outline) on_page.push_back(page(strip_.card_mm(at.s_mm, at.t_mm)));
    pen_.shape(on_page, ink);
  }
  Eigen::Vector2d page(const Eigen::Vector2d& card_mm) const {
    return drawing_.page.at(drawing_.card, card_mm);
  }

 private:
  Pen& pen_;
  const Drawing& drawing_;
  const PracticeStrip& strip_;
};

/// Its middle goes from t_first at the handle end to t_last at the tip's.
void draw_bar_along(StripPen& pen, double half_length_mm, double t_first, double t_last,
                    double width_mm, Ink ink) {
  const double half = 0.5 * width_mm;
  pen.shape({{-half_length_mm, t_first - half},
             {half_length_mm, t_last - half},
             {half_length_mm, t_last + half},
             {-half_length_mm, t_first + half}},
            ink);
}

void draw_plunge(StripPen& pen, const PracticeStrip& strip, double s_mm, double t_mm) {
  const double half = 0.5 * strip.line_width_mm, reach = strip.plunge_reach_mm;
  const double lean = strip.plunge_slope * reach;
  pen.shape({{s_mm - half - lean, t_mm - reach},
             {s_mm + half - lean, t_mm - reach},
             {s_mm + half + lean, t_mm + reach},
             {s_mm - half + lean, t_mm + reach}},
            kBlack);
}

void draw_mark(Pen& pen, const Drawing& drawing, double card_x_mm, int id) {
  const double pitch = drawing.card.pitch_mm;
  const Eigen::Vector2d middle = drawing.page.at(drawing.card, {card_x_mm, 0.0});
  const PageBox cell{middle.x() - 0.5 * pitch, middle.y() - 0.5 * pitch, pitch, pitch};
  pen.boxes({cell}, kWhite);
  std::vector<PageBox> black;
  add_marker(cell, id, black);
  pen.boxes(black, kBlack);
}

std::string stated(double mm) {
  const auto thousandths = std::lround(1000.0 * std::abs(mm));
  std::string digits = std::to_string(thousandths % 1000);
  digits.insert(0, 3 - digits.size(), '0');
  const char* sign = thousandths == 0 ? "" : mm > 0.0 ? "+" : "-";
  return sign + std::to_string(thousandths / 1000) + "." + digits + " mm";
}

void draw_offset_labels(Pen& pen, const Drawing& drawing, const PracticeStrip& strip) {
  const TextStyle style{2.6, Weight::bold, kWhite};
  constexpr double kClear = 6.6;  // of the strip's middle, to the text's baseline
  for (const double s : {-strip.stated_at_mm, 0.0, strip.stated_at_mm}) {
    const std::string words = "offset " + stated(strip.offset_mm(s));
    // On the side that the strip's slant leaves wider.
    const bool below = s > 0.0;
    const Eigen::Vector2d at = drawing.page.at(drawing.card, strip.card_mm(s, 0.0));
    pen.text(words,
             {at.x() - 0.5 * pen.text_width(words, style),
              at.y() + (below ? kClear + 1.2 : -kClear + 0.8)},
             style);
  }
}

std::vector<std::string> stated_numbers(const PracticeStrip& strip) {
  return {"rim to rim " + stated(strip.thickness_mm).substr(1) + ", line to line " +
              stated(strip.line_gap_mm).substr(1),
          "the lines' middle off the rims' middle: " +
              stated(strip.offset_mm(-strip.stated_at_mm)) + " at the handle end, " + stated(0.0) +
              " in the middle, " + stated(strip.offset_mm(strip.stated_at_mm)) +
              " at the tip end (the white words beside the strip; plus is down the page, toward "
              "the left face)",
          "plunge lines (the short bars), left minus right: " + stated(strip.plunge_mismatch_mm)};
}

void draw_words(Pen& pen, const Drawing& drawing, const PracticeStrip& strip) {
  draw_name(pen, drawing);
  const TextStyle style{3.5, Weight::normal, kBlack};
  const double y = drawing.bottom() + 29.0, gap = 12.0;
  const double half = 0.5 * (drawing.width() - gap), second = drawing.left() + half + gap;
  const TextStyle head{4.6, Weight::bold, kBlack};
  pen.text("In five minutes, before the first blade", {drawing.left(), y - 6.5}, head);
  draw_steps(pen, drawing.text.steps, 0, drawing.text.steps.size(), {{drawing.left(), y}, half},
             style);
  pen.text("What is printed in the lane", {second, y - 6.5}, head);
  const std::vector<std::string> numbers = stated_numbers(strip);
  draw_steps(pen, numbers, 0, numbers.size(), {{second, y}, half}, style);
}

}  // namespace

void draw_practice(Pen& pen, const Drawing& drawing, const PracticeStrip& strip) {
  StripPen on_strip(pen, drawing, strip);
  const double face = strip.thickness_mm, half = strip.half_length_mm;
  draw_bar_along(on_strip, strip.surround_half_length_mm, 0.0, 0.0, face + 2.0 * strip.surround_mm,
                 kBlack);
  draw_bar_along(on_strip, half, 0.0, 0.0, face, kWhite);
  for (const double side : {-0.5, 0.5}) {
    const double of_pair = side * strip.line_gap_mm;
    draw_bar_along(on_strip, half, strip.offset_mm(-half) + of_pair,
                   strip.offset_mm(half) + of_pair, strip.line_width_mm, kBlack);
  }
  draw_plunge(on_strip, strip, strip.plunge_left_mm(), strip.plunge_depth_mm);
  draw_plunge(on_strip, strip, strip.plunge_right_mm(), -strip.plunge_depth_mm);
  draw_mark(pen, drawing, -strip.mark_mm, kPracticeHandleMark);
  draw_mark(pen, drawing, strip.mark_mm, kPracticeTipMark);
  draw_offset_labels(pen, drawing, strip);
  draw_words(pen, drawing, strip);
}

}  // namespace evenbevel
