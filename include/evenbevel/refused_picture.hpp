#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include <Eigen/Core>
#include <opencv2/core/mat.hpp>

#include "evenbevel/card.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/photo.hpp"

namespace evenbevel {

// A photo that was not measured, with what was found in it and what is missing drawn on it.

/// What a photo shows of what a measurement needs, looked up once more after it was refused. All
/// places in the stored pixel grid.
struct RefusedLook {
  CardKind wanted = CardKind::edge;
  std::vector<FoundCard> cards = {};  ///< Of any kind.
  /// Corners of the wanted card that lie in the picture and were not seen; none without that card.
  std::vector<Eigen::Vector2d> unseen_px = {};
  int outside = 0;  ///< Corners of the wanted card that lie outside the picture.
  /// The card's lane, where the blade belongs; empty without the card, or where it has none.
  std::vector<Eigen::Vector2d> lane_px = {};
  std::vector<cv::Rect> white_px =
      {};                              ///< Where all is pure white (over-exposed), on card or lane.
  std::vector<cv::Rect> dark_px = {};  ///< Where all is nearly black; only without the card.

  const FoundCard* card() const;  ///< The wanted one; null: not found.
};

RefusedLook look_at_refused(const Photo& photo, CardKind wanted);

/// The photo upright, marked, with a legend; the refusal's sentences are the reader's to show.
/// @return  CV_8UC3 (BGR), 1600 px wide.
cv::Mat refused_picture(const Photo& photo, const RefusedLook& look);

inline constexpr const char* kRefusedPicture = "refused.jpg";

/// Writes refused.jpg into the folder (made when missing).
/// @throws Error  Not writable.
void write_refused_picture(const Photo& photo, CardKind wanted,
                           const std::filesystem::path& folder);

}  // namespace evenbevel
