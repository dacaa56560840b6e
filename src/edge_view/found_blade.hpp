#pragma once

#include <optional>
#include <utility>
#include <vector>

#include "blade.hpp"
#include "corner_rims.hpp"
#include "evenbevel/edge_view.hpp"
#include "metric.hpp"
#include "refusals.hpp"
#include "rims.hpp"

namespace evenbevel::edge {

inline constexpr double kUsualHeightU = 12.0;  ///< Of the rims over the card, mm, generous.

/// The blade, and how its rims show.
struct Found {
  Located at;
  Inner inner;
  int handle = 0;
  double handle_log_odds = 0.0;
  std::vector<FlatsPair> rivals{};  ///< Without a card only.
  double which_u_mm = 0.0;
  bool stage_doubted = false;
  std::vector<double> beside_high_mm{}, beside_low_mm{};
  std::optional<RimPair> beside{}, ricasso{};
  bool ricasso_hidden = false;          ///< In the picture, but no rims show on it.
  std::optional<CornerRims> corners{};  ///< Of a face with lines, with a card.
};

/// @throws Error  No blade, or its borders cannot be told apart.
Found found_with_card(const Search& search);

/// By votes alone, with the pairs that the photo supports nearly as well.
/// @throws Error  No blade.
Found found_without_card(const LaneImage& image, const StripFrame& on_lane,
                         const std::pair<double, double>& stretch, const FlatsSearch& search,
                         const EdgeSettings& settings);

/// The flats as they lie at the edge's own height: on the ricasso where its rims are seen, else
/// those beside the land, as if they were as high.
FlatsPair at_the_edge(const Found& found, FlatsPair flats, double thickness_mm);

/// Moves the rims to where all that speaks for them puts them. @return  What stays unknown.
FlatsDoubt fix_rims(const Found& found, double thickness_mm, std::vector<BandReadings>& bands);

/// On which side the handle lies. What the maker says stands, unless plunge lines and ricasso are
/// plain on the other side.
/// @throws Error  They are.
int believed_handle(const Found& found, std::optional<Tip> given);

}  // namespace evenbevel::edge
