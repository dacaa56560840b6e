#include "pen.hpp"

#include <sstream>

namespace evenbevel {

cairo_status_t append_to(void* text, const unsigned char* bytes, unsigned count) {
  static_cast<std::string*>(text)->append(reinterpret_cast<const char*>(bytes), count);
  return CAIRO_STATUS_SUCCESS;
}

Pen::Pen(cairo_surface_t* surface, double units_per_mm, bool crisp)
    : cairo_(cairo_create(surface), cairo_destroy) {
  cairo_scale(cairo_.get(), units_per_mm, units_per_mm);
  cairo_font_options_t* options = cairo_font_options_create();
  // The same letter widths on every surface.
  cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
  cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
  if (crisp) {
    cairo_set_antialias(cairo_.get(), CAIRO_ANTIALIAS_NONE);
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_NONE);
  }
  cairo_set_font_options(cairo_.get(), options);
  cairo_font_options_destroy(options);
}

void Pen::set_ink(Ink ink) { cairo_set_source_rgb(cairo_.get(), ink.red, ink.green, ink.blue); }

void Pen::set_font(const TextStyle& style) {
  cairo_select_font_face(
      cairo_.get(), "sans-serif", CAIRO_FONT_SLANT_NORMAL,
      style.weight == Weight::bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
  cairo_set_font_size(cairo_.get(), style.size_mm);
}

void Pen::paper(const Eigen::Vector2d& size_mm) {
  boxes({{0.0, 0.0, size_mm.x(), size_mm.y()}}, {1.0, 1.0, 1.0});
}

void Pen::boxes(const std::vector<PageBox>& boxes, Ink ink) {
  set_ink(ink);
  for (const PageBox& box : boxes) {
    cairo_rectangle(cairo_.get(), box.x, box.y, box.width, box.height);
  }
  cairo_fill(cairo_.get());
}

void Pen::shape(const std::vector<Eigen::Vector2d>& outline_mm, Ink ink) {
  set_ink(ink);
  cairo_new_path(cairo_.get());  // text leaves a point behind
  for (const Eigen::Vector2d& corner : outline_mm) {
    cairo_line_to(cairo_.get(), corner.x(), corner.y());
  }
  cairo_close_path(cairo_.get());
  cairo_fill(cairo_.get());
}

void Pen::line(Eigen::Vector2d from_mm, Eigen::Vector2d to_mm, double width_mm, Ink ink,
               double dash_mm) {
  set_ink(ink);
  cairo_set_line_width(cairo_.get(), width_mm);
  if (dash_mm > 0.0) cairo_set_dash(cairo_.get(), &dash_mm, 1, 0.0);
  cairo_move_to(cairo_.get(), from_mm.x(), from_mm.y());
  cairo_line_to(cairo_.get(), to_mm.x(), to_mm.y());
  cairo_stroke(cairo_.get());
  cairo_set_dash(cairo_.get(), nullptr, 0, 0.0);
}

double Pen::text_width(std::string_view text, const TextStyle& style) {
  set_font(style);
  cairo_text_extents_t extents;
  cairo_text_extents(cairo_.get(), std::string(text).c_str(), &extents);
  return extents.x_advance;
}

void Pen::text(std::string_view text, Eigen::Vector2d baseline_mm, const TextStyle& style,
               bool right) {
  if (right) baseline_mm.x() -= text_width(text, style);
  set_font(style);
  set_ink(style.ink);
  cairo_move_to(cairo_.get(), baseline_mm.x(), baseline_mm.y());
  cairo_show_text(cairo_.get(), std::string(text).c_str());
}

double Pen::paragraph(std::string_view words, Eigen::Vector2d baseline_mm, double width_mm,
                      double leading_mm, const TextStyle& style) {
  std::istringstream stream{std::string(words)};
  std::string line, word;
  while (stream >> word) {
    std::string longer = line;
    if (!line.empty()) longer += ' ';
    longer += word;
    if (!line.empty() && text_width(longer, style) > width_mm) {
      text(line, baseline_mm, style);
      baseline_mm.y() += leading_mm;
      line = word;
    } else {
      line = longer;
    }
  }
  text(line, baseline_mm, style);
  return baseline_mm.y() + leading_mm;
}

}  // namespace evenbevel
