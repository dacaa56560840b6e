#include <algorithm>
#include <cmath>
#include <string_view>

#include "evenbevel/live_view.hpp"

namespace evenbevel {
namespace {

// Common practice, no source; what each costs a measurement stands beside it.
constexpr double kLeastSeen = 0.6;      // of the corners: fewer, and the measurement refuses
constexpr double kMostGlare = 0.03;     // of the card: borders under it are lost
constexpr double kMostSoft_px = 2.0;    // of the card's borders
constexpr double kLeastPxPerMm = 6.0;   // the edge view refuses below 5
constexpr double kMostAside_mm = 8.0;   // parallax of the edge's height, `move_over_edge`
constexpr double kMostAlong_mm = 60.0;  // along the blade little depends on it

std::string card_name(CardKind kind) { return std::string(name(kind)) + " card"; }

std::string whole(double value) { return std::to_string(std::lround(value)); }

LiveCheck check(const char* name, bool well, InUnits words, InUnits todo) {
  return {name, well, std::move(words), well ? InUnits() : std::move(todo)};
}

LiveCheck card_check(const LiveLook& look, const LiveSettings& settings) {
  const std::string wanted = card_name(settings.card);
  if (!look.card) {
    if (look.other) {
      return check("card", false, "this is the " + card_name(*look.other),
                   "lay the " + wanted + " in its place");
    }
    return check("card", false, "no " + wanted + " seen",
                 "show the " + wanted + " to the camera, in even light");
  }
  const std::size_t all = card_layout(settings.card).corners_mm.size();
  const bool well = look.placed && look.seen >= kLeastSeen;
  return check(
      "card", well,
      std::to_string(look.card->corners.size()) + " of " + std::to_string(all) + " corners",
      "bring all of the card into the picture, flat, with nothing on its pattern");
}

LiveCheck distance_check(const LiveLook& look) {
  const double nearer_mm = look.distance_mm * (1.0 - look.px_per_mm / kLeastPxPerMm);
  return check("distance", look.px_per_mm >= kLeastPxPerMm, length_words(look.distance_mm, 0),
               "bring the camera " + length_words(std::max(1.0, nearer_mm), 0) + " nearer");
}

LiveCheck along_check(double along_mm) {
  const InUnits mm = length_words(std::abs(along_mm), 0);
  return check("camera", false, mm + " off along the lane",
               "move the camera " + mm + " toward the card's " +
                   (along_mm > 0.0 ? "left" : "right") + " end");
}

/// Over the blade where it is known, else over the lane.
LiveCheck camera_check(const LiveLook& look, const LiveBlade& blade) {
  if (std::abs(look.aside_mm.x()) > kMostAlong_mm) return along_check(look.aside_mm.x());
  // Card y grows to the top of the upright card; with the tip to the right the left face is below.
  const double up_mm = look.aside_mm.y();
  const double tip_sign = blade.tip == Tip::left ? 1.0 : -1.0;
  const double to_left_mm = blade.lateral_mm + tip_sign * (up_mm - blade.up_mm);
  const double size_mm = std::abs(blade.tip ? to_left_mm : up_mm);
  std::string toward = up_mm > 0.0 ? "the card's lower edge" : "the card's upper edge";
  if (blade.tip) toward = to_left_mm > 0.0 ? "the right face" : "the left face";
  const InUnits mm = length_words(size_mm, 0);
  return check("camera", size_mm <= kMostAside_mm, mm + " aside",
               "move the camera " + mm + " toward " + toward);
}

}  // namespace

std::vector<LiveCheck> live_checks(const LiveLook& look, const LiveSettings& settings,
                                   const LiveBlade& blade) {
  std::vector<LiveCheck> checks = {card_check(look, settings)};
  if (!look.card || !look.placed) return checks;
  checks.push_back(check("glare", look.glare <= kMostGlare,
                         whole(100.0 * look.glare) + " % of the card pure white",
                         "turn the exposure down or move the lamp: the card is blown out"));
  const double soft_px = look.card->softness_px;
  checks.push_back(check("focus", soft_px <= kMostSoft_px,
                         "borders " + std::to_string(soft_px).substr(0, 3) + " px soft",
                         "focus on the card: its borders are soft"));
  // Of the lens card every distance is wanted.
  if (settings.card != CardKind::lens) checks.push_back(distance_check(look));
  if (settings.card == CardKind::edge) checks.push_back(camera_check(look, blade));
  return checks;
}

bool all_well(const std::vector<LiveCheck>& checks) {
  return std::ranges::all_of(checks, &LiveCheck::well);
}

}  // namespace evenbevel
