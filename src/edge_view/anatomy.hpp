#pragma once

#include <optional>
#include <utility>
#include <vector>

#include "blade.hpp"
#include "evenbevel/edge_view.hpp"
#include "rims.hpp"
#include "strip.hpp"

namespace evenbevel::edge {

/// Which borders are the blade's, where its ricasso is and which way its tip points: one decision
/// over the whole blade.
struct Anatomy {
  Located at;  ///< Strip and frame, with the pair along which flats are read.
  Inner inner;
  int handle = 0;                ///< +1: toward larger s, -1: toward smaller, 0: cannot be told.
  double handle_log_odds = 0.0;  ///< For that side against the other.
  std::optional<RimPair> beside = {};   ///< Rims beside the land or the lines,
  std::optional<RimPair> ricasso = {};  ///< and on the ricasso.
  bool ricasso_hidden = false;          ///< It is in the picture, but no rims show on it.
  double which_u_mm = 0.0;     ///< Of the mid-plane: other pairs' distance, by their probability.
  bool stage_doubted = false;  ///< Read as a ground edge, and it may be full bevels; counted above.
  double log_score = 0.0;
};

/// How it is found where a ground edge ends. Facets as bright and as smooth as the ricasso leave
/// only the outlines of their plunge lines, which take longer to look at.
enum class LandEnds { by_light_and_outlines, by_outlines };

/// @param search  Widths of the flats.
/// Empty: no blade is seen.
/// @throws Error  Two readings of the photo are about as likely and differ by more than the maker
///                can live with; both are told.
std::optional<Anatomy> find_anatomy(const LaneImage& image, const std::vector<Located>& places,
                                    const std::pair<double, double>& stretch,
                                    const FlatsSearch& search, const EdgeSettings& settings,
                                    double card_blur_px, bool blur_is_known,
                                    LandEnds ends = LandEnds::by_light_and_outlines);

}  // namespace evenbevel::edge
