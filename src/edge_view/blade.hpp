#pragma once

#include <optional>
#include <utility>
#include <vector>

#include "evenbevel/edge_view.hpp"
#include "inner.hpp"
#include "locate.hpp"
#include "strip.hpp"

namespace evenbevel::edge {

/// A pair of borders that may be the flats, with the strip in which it was found.
struct Located {
  StripFrame frame;
  CoarseStrip strip;        ///< In which the flats are sought,
  CoarseStrip inner_strip;  ///< and what lies between them.
  FlatsPair flats;
  double px_per_mm;
  double width_fit;  ///< How well the pair's distance fits what is usual, 0..1.
};

struct Inner {
  Stage stage;
  InnerTrace trace;
  double log_misfit;  ///< Of the profiles; lower is better.
};

/// The flats and what lies between them, together.
struct Blade {
  Located at;
  Inner inner;
  std::vector<FlatsPair> rivals;  ///< Pairs that the photo supports nearly as well.
  double score = 0.0;             ///< How well the flats are seen where they must be, 0..1.
};

/// Rims over a shorter stretch, both together, are not taken for a blade's.
constexpr double kLeastFlatsMm = 7.0;

/// Looks twice, across the card and then along the direction found. Best first; the right one need
/// not be the first, since jaws and the flats' lower ends run along the blade too.
std::vector<Located> locate(const LaneImage& image, const StripFrame& on_lane,
                            const std::pair<double, double>& stretch, FlatsSearch search,
                            double least_support_mm);

/// The same place in a frame that runs along a line of its own one.
Located laid_along(const LaneImage& image, const Located& place, const StripLine& line,
                   const std::pair<double, double>& stretch);

/// Of several pairs of borders the blade's is the one seen best beside the lines or the land, and
/// on the ricasso just before it. Empty: none is seen well enough.
/// `card_blur_px`: blur of printed borders, where there are any.
std::optional<Blade> find_blade(const LaneImage& image, const std::vector<Located>& places,
                                const std::pair<double, double>& stretch,
                                const EdgeSettings& settings, std::optional<double> card_blur_px);

}  // namespace evenbevel::edge
