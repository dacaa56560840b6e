#pragma once

#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include <Eigen/Core>
#include <cairo.h>

namespace evenbevel {

struct Ink {
  double red, green, blue;  // sRGB, 0..1
};

inline constexpr Ink kBlack{0.0, 0.0, 0.0};
inline constexpr Ink kWhite{1.0, 1.0, 1.0};
inline constexpr Ink kGrey{0.55, 0.55, 0.55};
inline constexpr Ink kLaneGreen{0.0, 110.0 / 255.0, 60.0 / 255.0};

/// A rectangle on the page, mm from its top left corner.
struct PageBox {
  double x, y, width, height;
};

enum class Weight { normal, bold };

struct TextStyle {
  double size_mm = 2.5;  ///< Of the font's em square.
  Weight weight = Weight::normal;
  Ink ink = kBlack;
};

using Surface = std::unique_ptr<cairo_surface_t, void (*)(cairo_surface_t*)>;

/// A `cairo_write_func_t`: adds the bytes to the std::string at `text`.
cairo_status_t append_to(void* text, const unsigned char* bytes, unsigned count);

/// Draws on a Cairo surface in mm of the page. Borrowed surface; nothing is smoothed when `crisp`,
/// so that a bitmap holds the inks and nothing between them.
class Pen {
 public:
  Pen(cairo_surface_t* surface, double units_per_mm, bool crisp);

  void paper(const Eigen::Vector2d& size_mm);
  void boxes(const std::vector<PageBox>& boxes, Ink ink);  ///< One shape: no seams between them.
  void shape(const std::vector<Eigen::Vector2d>& outline_mm, Ink ink);
  void line(Eigen::Vector2d from_mm, Eigen::Vector2d to_mm, double width_mm, Ink ink,
            double dash_mm = 0.0);

  double text_width(std::string_view text, const TextStyle& style);
  /// @param baseline_mm  Left end of the baseline; the right end when `right`.
  void text(std::string_view text, Eigen::Vector2d baseline_mm, const TextStyle& style,
            bool right = false);
  /// Breaks between words. Returns the next free baseline.
  double paragraph(std::string_view text, Eigen::Vector2d baseline_mm, double width_mm,
                   double leading_mm, const TextStyle& style);

 private:
  void set_ink(Ink ink);
  void set_font(const TextStyle& style);

  std::unique_ptr<cairo_t, void (*)(cairo_t*)> cairo_;
};

}  // namespace evenbevel
