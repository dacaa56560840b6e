#pragma once

#include <span>
#include <string>
#include <vector>

#include <cairo.h>
#include <opencv2/core/mat.hpp>

namespace evenbevel {

struct Colour {
  double red = 0.0, green = 0.0, blue = 0.0, alpha = 1.0;  ///< 0..1.
  constexpr Colour with_alpha(double value) const { return {red, green, blue, value}; }
};

constexpr Colour colour(unsigned rgb) {
  return {((rgb >> 16U) & 255U) / 255.0, ((rgb >> 8U) & 255U) / 255.0, (rgb & 255U) / 255.0, 1.0};
}

// Colours that stay apart for colour-blind readers: M. Okabe, K. Ito, "Color universal design"
// (2008). Each goes with a line style or a label as well.
namespace palette {
inline constexpr Colour kOrange = colour(0xE69F00);
inline constexpr Colour kSkyBlue = colour(0x56B4E9);
inline constexpr Colour kGreen = colour(0x009E73);
inline constexpr Colour kYellow = colour(0xF0E442);
inline constexpr Colour kBlue = colour(0x0072B2);
inline constexpr Colour kVermilion = colour(0xD55E00);
inline constexpr Colour kDeepVermilion = colour(0xB84F00);  ///< Under white text.
inline constexpr Colour kPurple = colour(0xCC79A7);
inline constexpr Colour kInk = colour(0x1A1A1A);
inline constexpr Colour kGrey = colour(0x6A6A6A);
inline constexpr Colour kPale = colour(0xE4E4E0);
inline constexpr Colour kPaper = colour(0xFFFFFF);
}  // namespace palette

struct Box {
  double x = 0.0, y = 0.0, width = 0.0, height = 0.0;
  double right() const { return x + width; }
  double bottom() const { return y + height; }
};

enum class LineStyle { solid, dashed, long_dashed, dash_dot };

struct Stroke {
  Colour colour = palette::kInk;
  double width = 2.0;
  LineStyle style = LineStyle::solid;
  Colour casing = {0, 0, 0, 0};  ///< Drawn under it, a little wider, to stand out on any ground.
};

enum class Align { left, centre, right };

struct Font {
  double size = 32.0;
  bool bold = false;
  Colour colour = palette::kInk;
  Align align = Align::left;
  Colour plate = {0, 0, 0, 0};  ///< A filled rectangle behind the text.
};

/// A page to draw on. Coordinates are Cairo's: (0, 0) is the page's corner, a pixel's centre lies
/// at half-integers.
class Canvas {
 public:
  Canvas(int width, int height, Colour background);
  ~Canvas();
  Canvas(const Canvas&) = delete;
  Canvas& operator=(const Canvas&) = delete;

  int width() const { return page_.cols; }

  void fill(const Box& box, Colour colour);
  void frame(const Box& box, const Stroke& pen);
  void line(std::span<const cv::Point2d> points, const Stroke& pen);
  void line(cv::Point2d from, cv::Point2d to, const Stroke& pen);
  void area(std::span<const cv::Point2d> outline, Colour colour);
  void circle(cv::Point2d centre, double radius, const Stroke& pen);

  double text_width(const std::string& text, const Font& font);
  /// `at` is on the baseline.
  void text(cv::Point2d at, const std::string& text, const Font& font);
  /// Breaks at spaces; returns the baseline of the line after the last one.
  double paragraph(cv::Point2d at, double width, const std::string& text, const Font& font);

  /// @param bgr  CV_8UC3; its top-left corner goes to a whole pixel.
  void paste(const cv::Mat& bgr, cv::Point top_left);

  void clip(const Box& box);
  void unclip();

  /// The top `height` rows, CV_8UC3.
  cv::Mat picture(int height);

 private:
  void use(Colour colour);
  void use(const Font& font);
  void path(std::span<const cv::Point2d> points);
  /// Colours the page down to there, and a little further: what is never reached costs nothing.
  void reach(double y);

  cv::Mat page_;      // CV_8UC4
  int coloured_ = 0;  // Rows from the top.
  Colour background_;
  cairo_surface_t* surface_ = nullptr;
  cairo_t* cairo_ = nullptr;
};

/// Holds drawing inside a box while it lives.
class Clip {
 public:
  Clip(Canvas& canvas, const Box& box) : canvas_(canvas) { canvas_.clip(box); }
  ~Clip() { canvas_.unclip(); }
  Clip(const Clip&) = delete;
  Clip& operator=(const Clip&) = delete;

 private:
  Canvas& canvas_;
};

}  // namespace evenbevel
