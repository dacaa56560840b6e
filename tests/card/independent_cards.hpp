#pragma once

#include <string>
#include <vector>

#include <Eigen/Core>

#include "evenbevel/card.hpp"

namespace evenbevel::test {

/// A card as an independent program drew it, from data/independent_cards.txt.
struct IndependentCard {
  struct Marker {
    int id = 0;
    CardLayout::Cell cell;
    std::string bits;  ///< 25, row by row; '1' is white.
  };
  int columns = 0, rows = 0;
  double pitch_mm = 0.0;
  std::vector<std::string> cells;  ///< One string a row: B black, M marker, G lane.
  std::vector<Marker> markers;
  std::vector<Eigen::Vector2d> corners_mm;
};

IndependentCard independent_card(CardKind kind);

inline const std::vector<CardKind> kAllCards{CardKind::lens, CardKind::edge, CardKind::side,
                                             CardKind::heel};

}  // namespace evenbevel::test
