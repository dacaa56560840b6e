#include <array>

#include "evenbevel/card.hpp"

namespace evenbevel {
namespace {

bool is_black(CardLayout::Cell cell) { return (cell.column + cell.row) % 2 == 0; }

std::vector<CardLayout::Cell> marker_cells(const CardLayout& card) {
  std::vector<CardLayout::Cell> cells;
  for (int row = 0; row < card.rows; ++row) {
    for (int column = 0; column < card.columns; ++column) {
      const CardLayout::Cell cell{column, row};
      if (!is_black(cell) && !card.in_lane(cell)) cells.push_back(cell);
    }
  }
  return cells;
}

/// The corner is the top left one of `cell`.
bool touches_lane(const CardLayout& card, CardLayout::Cell cell) {
  return card.in_lane(cell) || card.in_lane({cell.column - 1, cell.row}) ||
         card.in_lane({cell.column, cell.row - 1}) || card.in_lane({cell.column - 1, cell.row - 1});
}

std::vector<Eigen::Vector2d> corners_mm(const CardLayout& card) {
  std::vector<Eigen::Vector2d> corners;
  for (int row = 1; row < card.rows; ++row) {
    for (int column = 1; column < card.columns; ++column) {
      const CardLayout::Cell cell{column, row};
      if (!touches_lane(card, cell)) corners.push_back(card.cell_top_left_mm(cell));
    }
  }
  return corners;
}

CardLayout complete(CardLayout card) {
  card.marker_cells = marker_cells(card);
  card.corners_mm = corners_mm(card);
  return card;
}

struct Grid {
  int columns, rows;
  double pitch_mm;
};

struct Lane {
  int column, row, columns, rows;
};

CardLayout make(CardKind kind, Grid grid, int first_id, Lane lane) {
  CardLayout card;
  card.kind = kind;
  card.columns = grid.columns;
  card.rows = grid.rows;
  card.pitch_mm = grid.pitch_mm;
  card.first_id = first_id;
  card.lane_column = lane.column;
  card.lane_row = lane.row;
  card.lane_columns = lane.columns;
  card.lane_rows = lane.rows;
  return complete(card);
}

}  // namespace

std::string_view name(CardKind kind) {
  switch (kind) {
    case CardKind::lens:
      return "lens";
    case CardKind::edge:
      return "edge";
    case CardKind::side:
      return "side";
    case CardKind::heel:
      return "heel";
  }
  return "unknown";
}

bool CardLayout::in_lane(Cell cell) const {
  return cell.column >= lane_column && cell.column < lane_column + lane_columns &&
         cell.row >= lane_row && cell.row < lane_row + lane_rows;
}

Eigen::Vector2d CardLayout::cell_top_left_mm(Cell cell) const {
  return pitch_mm * Eigen::Vector2d(cell.column - columns / 2.0, rows / 2.0 - cell.row);
}

Eigen::AlignedBox2d CardLayout::lane_mm() const {
  const Eigen::Vector2d top_left = cell_top_left_mm({lane_column, lane_row});
  const Eigen::Vector2d bottom_right =
      cell_top_left_mm({lane_column + lane_columns, lane_row + lane_rows});
  return {Eigen::Vector2d(top_left.x(), bottom_right.y()),
          Eigen::Vector2d(bottom_right.x(), top_left.y())};
}

const CardLayout& card_layout(CardKind kind) {
  static const std::array<CardLayout, 4> cards{
      make(CardKind::lens, {13, 9, 20.0}, 0, {0, 0, 0, 0}),
      make(CardKind::edge, {26, 8, 10.0}, 200, {0, 3, 26, 2}),
      make(CardKind::side, {26, 18, 10.0}, 400, {0, 5, 26, 8}),
      make(CardKind::heel, {8, 8, 10.0}, 600, {3, 1, 2, 7}),
  };
  return cards[static_cast<std::size_t>(kind)];
}

}  // namespace evenbevel
