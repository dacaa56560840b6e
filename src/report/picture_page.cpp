#include "report/picture_page.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <opencv2/imgproc.hpp>

namespace evenbevel {
namespace {

constexpr double kBannerHeight = 170.0;
constexpr double kHeadline = 70.0;  ///< Text size, at most.

Colour verdict_colour(Verdict verdict) {
  switch (verdict) {
    case Verdict::within:
      return palette::kBlue;
    case Verdict::outside:
      return palette::kDeepVermilion;
    case Verdict::unresolved:
      return palette::kOrange;
    case Verdict::none:
      break;
  }
  return palette::kGrey;
}

/// A shape beside the colour: tick, cross, question, dot.
void draw_sign(Canvas& canvas, Verdict verdict, cv::Point2d centre, double radius, Colour c) {
  const Stroke pen{.colour = c, .width = 10.0};
  const double r = 0.5 * radius;
  canvas.circle(centre, radius, {.colour = c, .width = 6.0});
  if (verdict == Verdict::within) {
    canvas.line(std::array{centre + cv::Point2d(-r, 0), centre + cv::Point2d(-0.2 * r, 0.8 * r),
                           centre + cv::Point2d(r, -0.7 * r)},
                pen);
  } else if (verdict == Verdict::outside) {
    canvas.line(centre + cv::Point2d(-r, -r), centre + cv::Point2d(r, r), pen);
    canvas.line(centre + cv::Point2d(-r, r), centre + cv::Point2d(r, -r), pen);
  } else if (verdict == Verdict::unresolved) {
    canvas.text(centre + cv::Point2d(0, 0.5 * radius), "?",
                {.size = 1.4 * radius, .bold = true, .colour = c, .align = Align::centre});
  } else {
    canvas.circle(centre, 0.3 * radius, pen);
  }
}

/// The largest size, up to `most`, in which the words fit.
double fitting_size(Canvas& canvas, const std::string& words, double width, const Font& most) {
  return most.size * std::min(1.0, width / std::max(1.0, canvas.text_width(words, most)));
}

}  // namespace

Font plate_font(double size, Align align) {
  return {.size = size, .bold = true, .align = align, .plate = kPlate};
}

double draw_banner(Canvas& canvas, const Banner& banner) {
  const Colour text_colour =
      banner.verdict == Verdict::unresolved ? palette::kInk : palette::kPaper;
  canvas.fill({0, 0, kPageWidth, kBannerHeight}, verdict_colour(banner.verdict));
  draw_sign(canvas, banner.verdict, {kMargin + 44.0, 0.5 * kBannerHeight}, 42.0, text_colour);
  constexpr double kIndent = kMargin + 120.0;
  const double size = fitting_size(canvas, banner.headline, kPageWidth - kMargin - kIndent,
                                   {.size = kHeadline, .bold = true});
  canvas.text({kIndent, 0.5 * kBannerHeight + 12.0}, banner.headline,
              {.size = size, .bold = true, .colour = text_colour});
  canvas.text({kIndent, kBannerHeight - 24.0}, banner.what, {.size = kBody, .colour = text_colour});
  return kBannerHeight + 62.0;
}

double draw_number(Canvas& canvas, double y, const std::string& label, const Printed& number,
                   const std::string& note, bool bold) {
  const Font font{.size = kBody + 4.0, .bold = bold};
  const Font quiet{.size = kBody, .colour = palette::kGrey};
  canvas.text({kMargin, y}, label, font);
  canvas.text({kMargin + 660.0, y}, number.value,
              {.size = font.size, .bold = true, .align = Align::right});
  canvas.text({kMargin + 690.0, y}, "U95 " + number.U95, quiet);
  constexpr double kNote = kMargin + 1010.0;
  Font fitting = quiet;
  fitting.size = fitting_size(canvas, note, kPageWidth - kMargin - kNote, quiet);
  canvas.text({kNote, y}, note, fitting);
  return y + 1.36 * font.size;
}

double draw_advice(Canvas& canvas, double y, const std::string& advice) {
  return std::ceil(canvas.paragraph({kMargin, y + 12.0}, kContentWidth, advice,
                                    {.size = kBody + 2.0, .bold = true}));
}

double draw_legend_entries(Canvas& canvas, const Box& box, std::span<const LegendEntry> entries) {
  double y = box.y + 30.0;
  for (const LegendEntry& entry : entries) {
    canvas.line({box.x, y - 11.0}, {box.x + 100.0, y - 11.0}, entry.pen);
    canvas.text({box.x + 124.0, y}, entry.text, {.size = kSmall + 4.0});
    y += 54.0;
  }
  return y + 10.0;
}

Stroke middle_pen() {
  return {.colour = palette::kPurple,
          .width = 3.0,
          .style = LineStyle::dash_dot,
          .casing = palette::kInk.with_alpha(0.6)};
}

Stroke tolerance_pen() {
  return {.colour = palette::kVermilion, .width = 4.0, .style = LineStyle::dashed};
}

double round_factor(double factor) {
  double decade = 1.0;
  while (decade * 10.0 <= factor) decade *= 10.0;
  double chosen = decade;
  for (const double multiple : {1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0}) {
    if (multiple * decade <= factor) chosen = multiple * decade;
  }
  return chosen;
}

std::string factor_text(double factor) {
  std::string text = std::to_string(factor);
  text.erase(text.find_last_not_of('0') + 1);
  if (text.ends_with('.')) text.pop_back();
  return text + " x";
}

double tick_step(double page_px_per_unit, double apart) {
  const double least = apart / page_px_per_unit;
  const double decade = std::pow(10.0, std::floor(std::log10(least)));
  double step = decade;
  for (const double multiple : {2.0, 5.0, 10.0}) {
    if (step >= least) break;
    step = multiple * decade;
  }
  return step;
}

std::string tick_text(double value, double step) {
  const int decimals = std::max(0, static_cast<int>(std::ceil(-std::log10(step) - 1e-9)));
  std::string text = std::to_string(std::round(value / step) * step);
  text.resize(text.find('.') + (decimals > 0 ? static_cast<std::size_t>(decimals) + 1 : 0));
  if (text == "-0") text = "0";
  return text;
}

cv::Mat to_bgr8(cv::Mat pixels) {
  if (pixels.depth() == CV_16U) pixels.convertTo(pixels, CV_8U, 1.0 / 257.0);
  if (pixels.channels() == 1) cv::cvtColor(pixels, pixels, cv::COLOR_GRAY2BGR);
  return pixels;
}

double draw_whole_photo(Canvas& canvas, double top, const Photo& photo) {
  cv::Mat small;
  const cv::Mat turned = upright(photo.pixels, photo.orientation);
  const double scale = kContentWidth / turned.cols;
  cv::resize(turned, small, {}, scale, scale, cv::INTER_AREA);
  canvas.paste(to_bgr8(small), {static_cast<int>(kMargin), static_cast<int>(top)});
  return top + small.rows;
}

}  // namespace evenbevel
