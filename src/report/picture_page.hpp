#pragma once

#include <span>
#include <string>
#include <vector>

#include "evenbevel/report.hpp"
#include "report/canvas.hpp"
#include "report/quantities.hpp"

namespace evenbevel {

// What the annotated pictures of all views share. All sizes in page px, for a page 1600 wide,
// which fills a phone held upright.

inline constexpr int kPageWidth = 1600;
inline constexpr double kMargin = 40.0;
inline constexpr double kContentWidth = kPageWidth - 2.0 * kMargin;
inline constexpr double kBody = 38.0;  ///< Text size.
inline constexpr double kSmall = 30.0;
inline constexpr Colour kBand = palette::kSkyBlue;
inline constexpr Colour kPlate = palette::kPaper.with_alpha(0.82);

/// Bold, on a plate, to be read on a photo.
Font plate_font(double size = kSmall, Align align = Align::left);

struct Banner {
  Verdict verdict = Verdict::none;
  std::string headline;
  std::string what;  ///< Below it.
};
/// @return  The baseline of the first line below it.
double draw_banner(Canvas& canvas, const Banner& banner);

/// A number with its U95 and a note. @return  The next line's baseline.
double draw_number(Canvas& canvas, double y, const std::string& label, const Printed& number,
                   const std::string& note, bool bold);

/// The first sentence of advice. @return  Where the rest may begin.
double draw_advice(Canvas& canvas, double y, const std::string& advice);

struct LegendEntry {
  Stroke pen;
  std::string text;
};
/// @return  Where the text below it may begin.
double draw_legend_entries(Canvas& canvas, const Box& box, std::span<const LegendEntry> entries);

Stroke middle_pen();
Stroke tolerance_pen();

/// The factor of 1, 1.5, 2, 2.5... nearest below (by ratio).
double round_factor(double factor);
std::string factor_text(double factor);

/// 1, 2, 5, 10, 20... so that labels stand at least `apart` page px from each other.
double tick_step(double page_px_per_unit, double apart);
std::string tick_text(double value, double step);

/// 8-bit BGR, whatever the photo's pixels are.
cv::Mat to_bgr8(cv::Mat pixels);

/// The whole photo, so that the maker sees what the camera saw. @return  Its bottom.
double draw_whole_photo(Canvas& canvas, double top, const Photo& photo);

}  // namespace evenbevel
