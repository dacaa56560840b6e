#include <algorithm>
#include <cmath>
#include <vector>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "calibrate/work.hpp"
#include "evenbevel/calibrate.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel {

namespace {

constexpr int kFewestCorners = 8;
constexpr double kMostBlur = 0.06;   ///< Of the corner spacing.
constexpr double kTooSoft_px = 2.0;  ///< A picture without a card as soft as this is blamed for it.

/// The value below which that share of the pixels lies.
double share_point(const cv::Mat& pixels, double share) {
  std::vector<float> values;
  cv::Mat(pixels.reshape(1, 1)).convertTo(values, CV_32F);
  const auto at =
      values.begin() + static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1));
  std::nth_element(values.begin(), at, values.end());
  return *at;
}

BoardSighting not_found(const std::string& name, const std::string& reason) {
  BoardSighting sighting;
  sighting.view.name = name;
  sighting.left_out = LeftOut{name, 0, reason};
  return sighting;
}

std::string blurred(double blur_px) {
  return "blurred: borders are spread by " + calibrate_detail::one_decimal(blur_px) + " px";
}

/// Blur of the sharpest borders anywhere in the picture, from its steepest slopes against its
/// contrast; empty for a picture with next to no contrast.
std::optional<double> sharpest_blur_px(const cv::Mat& grey) {
  constexpr double kLeastContrast = 40.0;
  cv::Mat slope_x;
  cv::Mat slope_y;
  cv::Sobel(grey, slope_x, CV_32F, 1, 0, 3, 0.125);
  cv::Sobel(grey, slope_y, CV_32F, 0, 1, 3, 0.125);
  cv::Mat slope;
  cv::magnitude(slope_x, slope_y, slope);
  const double contrast = share_point(grey, 0.98) - share_point(grey, 0.02);
  const double steepest = share_point(slope, 0.998);
  if (contrast < kLeastContrast || steepest <= 0.0) return std::nullopt;
  return contrast / (steepest * std::sqrt(2.0 * kPi));  // a Gaussian step's slope at its middle
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
    const std::optional<double> blur_px = sharpest_blur_px(grey);
    if (!blur_px || *blur_px < kTooSoft_px) return not_found(name, error.what());
    return not_found(name, blurred(*blur_px) + "; " + error.what());
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
