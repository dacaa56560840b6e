#pragma once

#include <array>
#include <vector>

#include <Eigen/Core>
#include <opencv2/core/mat.hpp>

#include "evenbevel/card.hpp"

namespace evenbevel {

/// A marker read in the picture.
struct CardMarker {
  CardLayout::Cell cell;
  std::array<Eigen::Vector2d, 4> corners_px;  ///< Stored pixel grid, from top left clockwise on
                                              ///< the card; good to a px or two of the shrunken
                                              ///< copy, not for measuring.
};

/// The markers of one kind of card. `cells_across_marker` etc. follow from the layout.
struct CardMarkers {
  CardKind kind = CardKind::edge;
  std::vector<CardMarker> markers;
};

/// Reads the markers of all cards in a shrunken copy of the picture, and once more in a larger one
/// when the first was too small for them. Markers that stand out of line with the others of their
/// card are dropped. Kinds without a marker are left out.
std::vector<CardMarkers> find_card_markers(const cv::Mat& grey);

/// The marker's corners on the card, in the order of CardMarker::corners_px, card frame.
std::array<Eigen::Vector2d, 4> marker_corners_mm(const CardLayout& card, CardLayout::Cell cell);

}  // namespace evenbevel
