#include <algorithm>
#include <map>

#include "evenbevel/live_view.hpp"

namespace evenbevel {
namespace {

constexpr double kStill_s = 1.0;
constexpr double kStill_px = 0.3;    // corners of a camera that stands scatter by 0.05 to 0.1
constexpr double kTouched_px = 3.0;  // a card that was lifted never lies so true again
constexpr double kGap_s = 0.5;       // without frames nobody knows what was still
constexpr double kGone_s = 0.5;      // the card out of sight: hands, or another blade

}  // namespace

std::optional<double> moved_px(const FoundCard& before, const FoundCard& now) {
  constexpr std::size_t kFewest = 8;
  std::map<int, Eigen::Vector2d> places;
  for (const CardCorner& corner : before.corners) places[corner.index] = corner.q_px;
  std::vector<double> moves;
  for (const CardCorner& corner : now.corners) {
    const auto place = places.find(corner.index);
    if (place != places.end()) moves.push_back((corner.q_px - place->second).norm());
  }
  if (moves.size() < kFewest) return std::nullopt;
  const auto middle = moves.begin() + static_cast<std::ptrdiff_t>(moves.size() / 2);
  std::ranges::nth_element(moves, middle);
  return *middle;
}

bool TakeBySelf::touched(double now_s, const LiveLook& look) {
  if (!look.card || !look.placed) {
    if (!gone_since_s_) gone_since_s_ = now_s;
    return now_s - *gone_since_s_ >= kGone_s;
  }
  gone_since_s_.reset();
  const auto moved = taken_card_ ? moved_px(*taken_card_, *look.card) : std::nullopt;
  return moved && *moved > kTouched_px;
}

void TakeBySelf::taken(const LiveLook& look) {
  armed_ = false;
  still_s_ = 0.0;
  still_card_.reset();
  taken_card_ = look.card;
  gone_since_s_.reset();
}

bool TakeBySelf::see(double now_s, bool well, bool ready, const LiveLook& look) {
  if (!armed_ && touched(now_s, look)) {
    armed_ = true;
    gone_since_s_.reset();
  }
  const auto moved = still_card_ && look.card ? moved_px(*still_card_, *look.card) : std::nullopt;
  const bool gap = now_s - seen_s_ > kGap_s;
  seen_s_ = now_s;
  if (!well || gap || !look.card || !moved || *moved > kStill_px) {
    still_card_ = well ? look.card : std::nullopt;
    still_since_s_ = now_s;
    still_s_ = 0.0;
    return false;
  }
  still_s_ = now_s - still_since_s_;
  if (!ready || !armed_ || still_s_ < kStill_s) return false;
  taken(look);
  return true;
}

}  // namespace evenbevel
