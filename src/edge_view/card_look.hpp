#pragma once

#include <optional>
#include <vector>

#include "border/sharpening.hpp"
#include "strip.hpp"

namespace evenbevel::edge {

inline constexpr double kMostBlurPx = 3.0;   ///< That can be measured in.
inline constexpr double kUsualBlurPx = 0.9;  ///< Gaussian sigma, where the card does not tell it.

inline constexpr double kHaloReach = 2.5;  ///< Of a border's blur.

/// How a border spreads: a blurred step, and what sharpening adds to it, `halo` times the step less
/// one whose blur is wider by `kHaloReach`.
struct Spread {
  double blur_px = 0.0;
  double halo = 0.0;

  double step(double t_px) const;
};

/// How the card's printed borders beside the lane look: a yardstick for sharpness and exposure.
struct CardLook {
  double blur_px = 0.0;  ///< Median Gaussian sigma, along the lane or across it, whichever is more.
  Spread across;         ///< The rims', which run along the lane.
  double black = 0.0;    ///< Linear light.
  double white = 0.0;
  int borders = 0;
};

/// The card's black as the photo encodes it, grey levels.
double encoded_black(const CardLook& look);

/// The card's printed borders beside the lane, each read once for all that is asked of them.
class CardBorders {
 public:
  CardBorders(const LaneImage& image, const StripFrame& frame_on_card);

  /// Empty: fewer than four borders could be read.
  std::optional<CardLook> look() const;

  /// How the picture was sharpened, by all of these borders; not at all where few can be read.
  Sharpening sharpening() const;

 private:
  double clip_;
  std::vector<PrintedBorder> across_, along_;  ///< The lane.
};

}  // namespace evenbevel::edge
