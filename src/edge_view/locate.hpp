#pragma once

#include <optional>
#include <vector>

#include "strip.hpp"

namespace evenbevel::edge {

/// A straight line in strip coordinates: t = at_zero_mm + slope s.
struct StripLine {
  double at_zero_mm = 0.0;
  double slope = 0.0;

  double t_mm(double s_mm) const { return at_zero_mm + slope * s_mm; }
};

/// Where the blade's two flats show: the upper rims of the flats, as two nearly parallel borders
/// whose distance fits the stock thickness.
struct FlatsPair {
  StripLine high, low;                      ///< high: toward positive t.
  std::vector<float> seen;                  ///< Strength 0..1, a column of the coarse strip each.
  double s_begin_mm = 0.0, s_end_mm = 0.0;  ///< Longest stretch where both are seen.
  double support_mm = 0.0;                  ///< Length with both seen, in all.

  double mid_mm(double s_mm) const { return 0.5 * (high.t_mm(s_mm) + low.t_mm(s_mm)); }
  StripLine middle() const {
    return {0.5 * (high.at_zero_mm + low.at_zero_mm), 0.5 * (high.slope + low.slope)};
  }
  double width_mm(double s_mm) const { return high.t_mm(s_mm) - low.t_mm(s_mm); }
};

/// Where the flats' mid-line is expected, in strip coordinates. Beyond the ends less is known.
struct ExpectedMid {
  StripLine line;
  double s_begin_mm = 0.0, s_end_mm = 0.0;
  double within_mm = 0.0;

  bool holds(double s_mm, double mid_mm) const;
};

/// What to look for.
struct FlatsSearch {
  double width_low_mm = 0.0, width_high_mm = 0.0;  ///< Apparent, in the reference plane.
  double width_usual_mm = 0.0;    ///< The likeliest, with its standard uncertainty;
  double width_usual_u_mm = 0.0;  ///< 0: none is likelier than another.
  double turn_rad = 0.0;          ///< The blade's direction lies within this of the frame's.
  double smooth_along_mm = 3.0;   ///< Belt scratches and specks are shorter; longer when aligned.
  float least_gradient = 1.2F;    ///< Grey levels per px.
  double card_black = 0.0;        ///< Encoded grey of the card's black; an empty gap is far darker.
  std::optional<ExpectedMid> mid = std::nullopt;  ///< Empty: anywhere in the strip.
};

/// Pairs of borders vote for a direction, a mid-line and a width (a Hough transform over pairs);
/// the most voted ones, at most `most`, are refined by least squares, best first. Only those with
/// at least `least_support_mm` are returned.
std::vector<FlatsPair> find_flats(const CoarseStrip& strip, double px_per_mm,
                                  const FlatsSearch& search, double least_support_mm, int most);

/// Gradient across the strip (grey levels per px), smoothed along it.
cv::Mat gradient_across(const CoarseStrip& strip, double px_per_mm, double smooth_along_mm);

}  // namespace evenbevel::edge
