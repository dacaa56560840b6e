#pragma once

#include <algorithm>
#include <optional>

#include <opencv2/core/mat.hpp>

#include "inner.hpp"
#include "locate.hpp"
#include "strip.hpp"

namespace evenbevel::edge {

/// How well the picture bears out that a pair of borders is the blade's own. A rim of the flats is
/// the first border met when going outward over the blade's top; jaws, shadows and the lower ends
/// of flats seen obliquely have the rim itself between them and the middle.
class Support {
 public:
  Support(const CoarseStrip& strip, double px_per_mm);

  /// Mean strength, 0..1, of the pair along the lines or the land where nothing stands between.
  double beside(const FlatsPair& flats, const InnerTrace& trace) const;

  /// The same with nothing at all inside, over the best stretch of a ricasso's usual length.
  double anywhere(const FlatsPair& flats) const;

  /// The longest stretch with nothing at all inside, and the pair's mean strength, 0..1, there.
  struct Plain {
    double strength = 0.0;
    double s_begin_mm = 0.0, s_end_mm = 0.0;

    double length_mm() const { return s_end_mm - s_begin_mm; }
  };
  Plain plain(const FlatsPair& flats) const;

  /// Where the pair is seen with nothing at all inside, beyond one end of the land. What lies there
  /// must not be far darker than the land, being the same face: a gap between jaws is.
  struct Ricasso {
    double strength = 0.0;  ///< 0..1, over the best stretch of a ricasso's usual length.
    double s_begin_mm = 0.0, s_end_mm = 0.0;
    double change = 0.0;  ///< Of light against the land, |log ratio|.
  };
  /// side: +1 toward larger s, -1 toward smaller.
  Ricasso ricasso(const FlatsPair& flats, const InnerTrace& trace, int side) const;
  struct Ricassos {
    Ricasso below, above;  ///< Toward smaller s, toward larger.

    double strength() const { return std::max(below.strength, above.strength); }
  };
  Ricassos ricassos(const FlatsPair& flats, const InnerTrace& trace) const;

  /// By how much the steel between the inner pair and the rims changes in light where the land ends
  /// and the ricasso begins: |log ratio|, the larger of both sides. Facets and bevels end there; a
  /// face with scribe lines goes on. Empty: no ricasso is seen.
  std::optional<double> change_at_ricasso(const FlatsPair& flats, const InnerTrace& trace,
                                          const Ricassos& both) const;

 private:
  /// Strength of the pair in one column if each side is clear as far as `free_mm` from its rim.
  double clear(const FlatsPair& flats, int column, double free_high_mm, double free_low_mm,
               double most_inside) const;
  /// Mean light over a stretch of a line beside the flats' mid-line.
  std::optional<double> light(const FlatsPair& flats, double from_mid_mm, double begin_mm,
                              double end_mm) const;

  const CoarseStrip& strip_;
  cv::Mat size_;  ///< Of the gradient across, grey levels per px.
  double margin_mm_;
};

}  // namespace evenbevel::edge
