#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "blade.hpp"
#include "card_look.hpp"
#include "evenbevel/edge_view.hpp"
#include "inner.hpp"
#include "locate.hpp"
#include "metric.hpp"
#include "plunge.hpp"
#include "readings.hpp"
#include "strip.hpp"

namespace evenbevel::edge {

// Photos that are not measured, and what their maker is told.

/// Where a blade was sought in vain.
struct Search {
  const LaneImage& image;
  const LaneImage& as_stored;  ///< Its sharpening not taken back: borders are plainer there.
  const StripFrame& on_lane;
  std::pair<double, double> stretch_mm;  ///< Of the lane, s.
  FlatsSearch flats;
  std::optional<CardLook> look;
  const EdgeSettings& settings;
};

/// @throws Error  Always: bad light, blur, a thickness in another unit or that the card's scale
///                contradicts, or no blade at all.
[[noreturn]] void fail_without_blade(const Search& search);

/// @throws Error  The card's printed borders are too soft.
void require_not_blurred(const CardLook& look);

/// @throws Error  What lies between the borders found is mostly the card's green: lines drawn on an
///                uncut lane, or shadows on it.
void require_no_bare_lane(const cv::Mat& pixels, const Located& at, const InnerTrace& trace);

/// @throws Error  Most of the edge is over-exposed: its borders are guesswork.
void require_exposed(const std::vector<BandReadings>& bands);

/// The thickness against the card's scale, at the edge's height if it was given, else at the
/// heights that the set-up allows.
/// @throws Error  They disagree by more than 2 % and by more than the photo leaves open.
void require_agreement(const Metric& metric, double camera_height_mm, const EdgeSettings& settings);

/// @throws Error  Always: the ground edge ends where `given` puts the tip. One of the two is wrong,
///                and with it the sign of every offset, or the borders found are not the blade's.
[[noreturn]] void fail_with_tip(Tip given);

/// @throws Error  Always: nothing in the photo or the command tells where the tip points, and with
/// it
///                which face is which; both readings are told.
[[noreturn]] void fail_without_tip(double offset_mm);

/// The flats' distance puts the edge where no set-up has it: one of the borders is not a flat's.
/// @throws Error
void require_usual_height(const Metric& metric, const EdgeSettings& settings);

/// @throws Error  One border of the land, or one line, hardly stands out of the noise anywhere.
void require_both_borders(const std::vector<BandReadings>& bands, Stage stage);

/// @param off_mm  How far the land's dye lies from what was followed as the land.
/// @throws Error  Too far to be the same.
void require_at_dye(double off_mm, double px_per_mm);

/// Before a photo is refused for a border that is not clear: whether blur or exposure is why.
/// @throws Error  It is.
void require_clear_photo(const std::optional<CardLook>& look, double clipped_share);

/// Beside full bevels other borders may pass for the rims of a ground edge; the ricasso's rims lie
/// in line with those of a ground edge only.
/// @throws Error  The ricasso is in the picture, but no rims show on it.
void require_ricasso(bool hidden, const std::optional<CardLook>& look, double clipped_share);

/// Only plunge lines, and the ricasso behind them, tell a ground edge from full bevels: both have a
/// land between two borders, and what lies beside bevels passes for rims. And beside full bevels a
/// jaw's shade passes for a border of the land; it does not end at a plunge line.
/// @throws Error  The plunge lines do not both show.
void require_plunges(const PlungeLines& plunges, Stage stage, const std::optional<CardLook>& look,
                     double clipped_share);

/// @throws Error  A third border shows inside of the land along too much of it.
void require_two_borders(double third_border_share, const std::optional<CardLook>& look,
                         double clipped_share);

bool steady_borders(const Metric& metric, Stage stage);

/// @throws Error  A border of the land jumps to and fro from place to place: several are mixed up.
void require_steady_borders(const Metric& metric, Stage stage);

/// @throws Error  Always: which borders are the flats' rims cannot be told, or the photo is not
/// clear.
[[noreturn]] void fail_with_rims(const std::optional<CardLook>& look);

/// Whether the edge lies as near to the middle as a blade's does.
bool plausible(const EdgeResult& result, const EdgeSettings& settings);

bool enough_stations(const EdgeResult& result);

/// @throws Error  The edge was measured at too few places.
void require_enough_stations(const EdgeResult& result);

/// An offset that the eye would see at once is a border taken for another. @throws Error
void require_plausible(const EdgeResult& result, const EdgeSettings& settings);

}  // namespace evenbevel::edge
