#include <algorithm>
#include <vector>

#include "calibrate/work.hpp"
#include "evenbevel/calibrate.hpp"
#include "evenbevel/error.hpp"

namespace evenbevel {

namespace {

constexpr int kFewestCorners = 8;
constexpr double kMostBlur = 0.06;  ///< Of the corner spacing.

BoardSighting not_found(const std::string& name, const std::string& reason) {
  BoardSighting sighting;
  sighting.view.name = name;
  sighting.left_out = LeftOut{name, 0, reason};
  return sighting;
}

std::string blurred(double blur_px) {
  return "blurred: borders are spread by " + calibrate_detail::one_decimal(blur_px) + " px";
}

BoardSighting judged(const cv::Mat& grey, CalibrationView view) {
  BoardSighting sighting;
  sighting.blur_px = board_blur_px(grey, view);
  if (sighting.blur_px && *sighting.blur_px > kMostBlur * smallest_spacing_px(view)) {
    sighting.left_out = LeftOut{view.name, 0, blurred(*sighting.blur_px)};
  }
  sighting.view = std::move(view);
  return sighting;
}

BoardSighting sight_chessboard(const std::string& name, const cv::Mat& grey,
                               const Chessboard& board) {
  std::optional<CalibrationView> view = find_chessboard(name, grey, board);
  if (view) return judged(grey, std::move(*view));
  return not_found(name, "no chessboard of " + std::to_string(board.columns) + " x " +
                             std::to_string(board.rows) + " inner corners in view as a whole");
}

}  // namespace

BoardSighting sight_board(const std::string& name, const cv::Mat& grey,
                          const CalibrationBoard& board) {
  if (board.chessboard) return sight_chessboard(name, grey, *board.chessboard);
  try {
    const FoundCard card = require_card(grey, CardKind::lens, kFewestCorners);
    return judged(grey, card_view(name, card, board.print));
  } catch (const Error& error) {
    return not_found(name, error.what());
  }
}

void leave_out_blurred(std::vector<BoardSighting>& sightings) {
  constexpr double kTimesTypical = 3.0;
  constexpr double kHarmless = 0.02;  // of the corner spacing
  std::vector<double> blurs;
  for (const BoardSighting& sighting : sightings) {
    if (!sighting.left_out && sighting.blur_px) blurs.push_back(*sighting.blur_px);
  }
  const double limit_px = kTimesTypical * calibrate_detail::median(std::move(blurs));
  for (BoardSighting& sighting : sightings) {
    if (sighting.left_out || !sighting.blur_px) continue;
    const double harmless_px = kHarmless * smallest_spacing_px(sighting.view);
    if (*sighting.blur_px > std::max(limit_px, harmless_px)) {
      sighting.left_out = LeftOut{sighting.view.name, 0, blurred(*sighting.blur_px)};
    }
  }
}

}  // namespace evenbevel
