#include "report/canvas.hpp"

#include <algorithm>
#include <array>
#include <sstream>
#include <utility>

#include <opencv2/imgproc.hpp>

namespace evenbevel {
namespace {

constexpr double kCasing = 2.5;  ///< How much wider than the line, in all.

cv::Scalar bgra(Colour c) { return {255.0 * c.blue, 255.0 * c.green, 255.0 * c.red, 255.0}; }

std::span<const double> dashes(LineStyle style) {
  static constexpr std::array kDashed = {14.0, 10.0};
  static constexpr std::array kLongDashed = {16.0, 5.0};
  static constexpr std::array kDashDot = {30.0, 7.0, 6.0, 7.0};
  switch (style) {
    case LineStyle::dashed:
      return kDashed;
    case LineStyle::long_dashed:
      return kLongDashed;
    case LineStyle::dash_dot:
      return kDashDot;
    case LineStyle::solid:
      break;
  }
  return {};
}

}  // namespace

Canvas::Canvas(int width, int height, Colour background)
    : page_(height, width, CV_8UC4), background_(background) {
  surface_ = cairo_image_surface_create_for_data(page_.data, CAIRO_FORMAT_RGB24, width, height,
                                                 static_cast<int>(page_.step));
  cairo_ = cairo_create(surface_);
  cairo_set_line_join(cairo_, CAIRO_LINE_JOIN_ROUND);
  cairo_set_line_cap(cairo_, CAIRO_LINE_CAP_BUTT);
}

Canvas::~Canvas() {
  cairo_destroy(cairo_);
  cairo_surface_destroy(surface_);
}

void Canvas::use(Colour c) { cairo_set_source_rgba(cairo_, c.red, c.green, c.blue, c.alpha); }

void Canvas::use(const Font& font) {
  cairo_select_font_face(cairo_, "sans-serif", CAIRO_FONT_SLANT_NORMAL,
                         font.bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
  cairo_set_font_size(cairo_, font.size);
}

void Canvas::reach(double y) {
  constexpr double kSpare = 200.0;  // More than any pen is wide or any letter high.
  if (!(y + kSpare > coloured_)) return;
  const int end =
      static_cast<int>(std::clamp(y + 2.0 * kSpare, 0.0, static_cast<double>(page_.rows)));
  if (end <= coloured_) return;
  cairo_surface_flush(surface_);
  page_.rowRange(coloured_, end).setTo(bgra(background_));
  cairo_surface_mark_dirty(surface_);
  coloured_ = end;
}

void Canvas::path(std::span<const cv::Point2d> points) {
  for (const cv::Point2d& p : points) reach(p.y);
  cairo_new_path(cairo_);
  for (const cv::Point2d& p : points) cairo_line_to(cairo_, p.x, p.y);
}

void Canvas::fill(const Box& box, Colour c) {
  reach(box.bottom());
  use(c);
  cairo_rectangle(cairo_, box.x, box.y, box.width, box.height);
  cairo_fill(cairo_);
}

void Canvas::frame(const Box& box, const Stroke& pen) {
  const std::array<cv::Point2d, 5> corners = {cv::Point2d{box.x, box.y},
                                              {box.right(), box.y},
                                              {box.right(), box.bottom()},
                                              {box.x, box.bottom()},
                                              {box.x, box.y}};
  line(corners, pen);
}

void Canvas::line(std::span<const cv::Point2d> points, const Stroke& pen) {
  if (points.size() < 2) return;
  path(points);
  const std::span<const double> lengths = dashes(pen.style);
  cairo_set_dash(cairo_, lengths.data(), static_cast<int>(lengths.size()), 0.0);
  if (pen.casing.alpha > 0.0) {
    use(pen.casing);
    cairo_set_line_width(cairo_, pen.width + kCasing);
    cairo_stroke_preserve(cairo_);
  }
  use(pen.colour);
  cairo_set_line_width(cairo_, pen.width);
  cairo_stroke(cairo_);
}

void Canvas::line(cv::Point2d from, cv::Point2d to, const Stroke& pen) {
  line(std::array{from, to}, pen);
}

void Canvas::area(std::span<const cv::Point2d> outline, Colour c) {
  if (outline.size() < 3) return;
  path(outline);
  use(c);
  cairo_fill(cairo_);
}

void Canvas::circle(cv::Point2d centre, double radius, const Stroke& pen) {
  constexpr double kTurn = 6.283185307179586;
  reach(centre.y + radius);
  cairo_new_path(cairo_);
  cairo_arc(cairo_, centre.x, centre.y, radius, 0.0, kTurn);
  cairo_set_dash(cairo_, nullptr, 0, 0.0);
  use(pen.colour);
  cairo_set_line_width(cairo_, pen.width);
  cairo_stroke(cairo_);
}

double Canvas::text_width(const std::string& text, const Font& font) {
  use(font);
  cairo_text_extents_t extents;
  cairo_text_extents(cairo_, text.c_str(), &extents);
  return extents.x_advance;
}

void Canvas::text(cv::Point2d at, const std::string& text, const Font& font) {
  const double width = text_width(text, font);
  if (font.align == Align::centre) at.x -= 0.5 * width;
  if (font.align == Align::right) at.x -= width;
  if (font.plate.alpha > 0.0) {
    const double pad = 0.25 * font.size;
    fill({at.x - pad, at.y - 0.95 * font.size, width + 2.0 * pad, 1.25 * font.size}, font.plate);
  }
  reach(at.y);
  use(font.colour);
  cairo_move_to(cairo_, at.x, at.y);
  cairo_show_text(cairo_, text.c_str());
}

double Canvas::paragraph(cv::Point2d at, double width, const std::string& text, const Font& font) {
  constexpr double kLeading = 1.28;
  std::istringstream words(text);
  std::string line;
  for (std::string word; words >> word;) {
    std::string longer = line;
    if (!line.empty()) longer += ' ';
    longer += word;
    if (!line.empty() && text_width(longer, font) > width) {
      this->text(at, line, font);
      at.y += kLeading * font.size;
      line = word;
    } else {
      line = std::move(longer);
    }
  }
  if (!line.empty()) {
    this->text(at, line, font);
    at.y += kLeading * font.size;
  }
  return at.y;
}

void Canvas::paste(const cv::Mat& bgr, cv::Point top_left) {
  const cv::Rect page(0, 0, page_.cols, page_.rows);
  const cv::Rect to = cv::Rect(top_left, bgr.size()) & page;
  if (to.empty()) return;
  reach(to.br().y);
  cairo_surface_flush(surface_);
  cv::Mat target = page_(to);
  cv::cvtColor(bgr(to - top_left), target, cv::COLOR_BGR2BGRA);
  cairo_surface_mark_dirty(surface_);
}

void Canvas::clip(const Box& box) {
  cairo_save(cairo_);
  cairo_rectangle(cairo_, box.x, box.y, box.width, box.height);
  cairo_clip(cairo_);
}

void Canvas::unclip() { cairo_restore(cairo_); }

cv::Mat Canvas::picture(int height) {
  reach(height);
  cairo_surface_flush(surface_);
  cv::Mat bgr;
  cv::cvtColor(page_.rowRange(0, std::clamp(height, 1, page_.rows)), bgr, cv::COLOR_BGRA2BGR);
  return bgr;
}

}  // namespace evenbevel
