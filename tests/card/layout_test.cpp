#include <gtest/gtest.h>

#include "independent_cards.hpp"

namespace evenbevel {
namespace {

using test::independent_card;
using test::IndependentCard;
using test::kAllCards;

// Cells, pitch, first id and lane as the design's table of cards has them.
TEST(CardLayoutClosedForm, TheTableOfCards) {
  struct Row {
    CardKind kind;
    int columns, rows;
    double pitch_mm;
    int first_id, lane_column, lane_row, lane_columns, lane_rows;
  };
  const Row table[] = {{CardKind::lens, 13, 9, 20.0, 0, 0, 0, 0, 0},
                       {CardKind::edge, 26, 8, 10.0, 200, 0, 3, 26, 2},
                       {CardKind::side, 26, 18, 10.0, 400, 0, 5, 26, 8},
                       {CardKind::heel, 8, 8, 10.0, 600, 3, 1, 2, 7}};
  for (const Row& row : table) {
    SCOPED_TRACE(name(row.kind));
    const CardLayout& card = card_layout(row.kind);
    EXPECT_EQ(card.kind, row.kind);
    EXPECT_EQ(card.columns, row.columns);
    EXPECT_EQ(card.rows, row.rows);
    EXPECT_EQ(card.pitch_mm, row.pitch_mm);
    EXPECT_EQ(card.first_id, row.first_id);
    EXPECT_EQ(card.lane_columns, row.lane_columns);
    EXPECT_EQ(card.lane_rows, row.lane_rows);
    if (row.lane_columns == 0) continue;
    EXPECT_EQ(card.lane_column, row.lane_column);
    EXPECT_EQ(card.lane_row, row.lane_row);
  }
}

TEST(CardLayoutClosedForm, LanesInMillimetres) {
  const Eigen::AlignedBox2d edge = card_layout(CardKind::edge).lane_mm();
  EXPECT_TRUE(edge.min().isApprox(Eigen::Vector2d(-130.0, -10.0)));
  EXPECT_TRUE(edge.max().isApprox(Eigen::Vector2d(130.0, 10.0)));
  const Eigen::AlignedBox2d heel = card_layout(CardKind::heel).lane_mm();
  EXPECT_TRUE(heel.min().isApprox(Eigen::Vector2d(-10.0, -40.0)));
  EXPECT_TRUE(heel.max().isApprox(Eigen::Vector2d(10.0, 30.0)));
}

// Source: drawn by an independent program, data/independent_cards.txt.
TEST(CardLayoutOutside, MarkersStandWhereTheIndependentProgramPutThem) {
  for (const CardKind kind : kAllCards) {
    SCOPED_TRACE(name(kind));
    const CardLayout& card = card_layout(kind);
    const IndependentCard other = independent_card(kind);
    ASSERT_FALSE(other.markers.empty());
    ASSERT_EQ(card.marker_cells.size(), other.markers.size());
    for (std::size_t i = 0; i < other.markers.size(); ++i) {
      EXPECT_EQ(card.first_id + static_cast<int>(i), other.markers[i].id);
      EXPECT_EQ(card.marker_cells[i].column, other.markers[i].cell.column) << i;
      EXPECT_EQ(card.marker_cells[i].row, other.markers[i].cell.row) << i;
    }
  }
}

// Source: drawn by an independent program, data/independent_cards.txt.
TEST(CardLayoutOutside, UsableCornersAreTheIndependentPrograms) {
  for (const CardKind kind : kAllCards) {
    SCOPED_TRACE(name(kind));
    const std::vector<Eigen::Vector2d>& corners = card_layout(kind).corners_mm;
    const IndependentCard other = independent_card(kind);
    ASSERT_FALSE(other.corners_mm.empty());
    ASSERT_EQ(corners.size(), other.corners_mm.size());
    for (std::size_t i = 0; i < corners.size(); ++i) {
      EXPECT_EQ((corners[i] - other.corners_mm[i]).norm(), 0.0) << i;
    }
  }
}

// Source: drawn by an independent program, data/independent_cards.txt.
TEST(CardLayoutOutside, LaneCellsAreTheIndependentPrograms) {
  for (const CardKind kind : kAllCards) {
    SCOPED_TRACE(name(kind));
    const IndependentCard other = independent_card(kind);
    ASSERT_EQ(static_cast<int>(other.cells.size()), card_layout(kind).rows);
    for (int row = 0; row < other.rows; ++row) {
      for (int column = 0; column < other.columns; ++column) {
        const char cell =
            other.cells[static_cast<std::size_t>(row)][static_cast<std::size_t>(column)];
        EXPECT_EQ(card_layout(kind).in_lane({column, row}), cell == 'G') << column << ", " << row;
      }
    }
  }
}

// ISO 216 and ANSI/ASME Y14.1 sizes. Common practice, no source: desktop printers leave up to 6 mm
// unprinted, and a bar that is cut cannot be measured.
TEST(CardPageClosedForm, GridAndBarLieClearOfTheRim) {
  for (const CardKind kind : kAllCards) {
    for (const Sheet sheet : {Sheet::a4, Sheet::letter}) {
      const CardPage page = card_page(kind, sheet);
      const CardLayout& card = card_layout(kind);
      EXPECT_EQ(page.size_mm,
                sheet == Sheet::a4 ? Eigen::Vector2d(297.0, 210.0) : Eigen::Vector2d(279.4, 215.9));
      const Eigen::Vector2d grid_end =
          page.grid_top_left_mm + card.pitch_mm * Eigen::Vector2d(card.columns, card.rows);
      EXPECT_GE(page.grid_top_left_mm.minCoeff(), 6.0);
      EXPECT_GE((page.size_mm - grid_end).minCoeff(), 6.0);
      EXPECT_GT(page.bar_start_mm.y(), grid_end.y() + 2.0);
      EXPECT_LT(page.bar_start_mm.x() + page.bar_length_mm, page.size_mm.x() - 6.0);
      EXPECT_EQ(page.bar_length_mm, kind == CardKind::heel ? 60.0 : 200.0);
    }
  }
}

}  // namespace
}  // namespace evenbevel
