#include "evenbevel/card.hpp"

namespace evenbevel {
namespace {

// ISO 216 A4; ANSI/ASME Y14.1 A (US Letter, 11 x 8.5 in).
Eigen::Vector2d sheet_mm(Sheet sheet) {
  return sheet == Sheet::a4 ? Eigen::Vector2d(297.0, 210.0) : Eigen::Vector2d(279.4, 215.9);
}

constexpr double kBarBelowGrid_mm = 5.0;
constexpr double kHeelBarBelowGrid_mm = 17.0;  // clear of the cut-out and the trim line

// The tall cards leave 30 mm of an A4 sheet for margins, bar and text. The edge card stands
// higher than the middle: the set-up text has the lower half. The heel card leaves it the right.
Eigen::Vector2d grid_top_left_mm(const CardLayout& card, const Eigen::Vector2d& size_mm) {
  const double centred_mm = 0.5 * (size_mm.x() - card.columns * card.pitch_mm);
  switch (card.kind) {
    case CardKind::edge:
      return {centred_mm, 25.0};
    case CardKind::heel:
      return {40.0, 40.0};
    case CardKind::lens:
    case CardKind::side:
      break;
  }
  return {centred_mm, size_mm.y() < 212.0 ? 6.5 : 8.0};
}

}  // namespace

Eigen::Vector2d CardPage::at(const CardLayout& card, const Eigen::Vector2d& card_mm) const {
  const Eigen::Vector2d from_top_left = card_mm - card.cell_top_left_mm({0, 0});
  return grid_top_left_mm + Eigen::Vector2d(from_top_left.x(), -from_top_left.y());
}

CardPage card_page(CardKind kind, Sheet sheet) {
  const CardLayout& card = card_layout(kind);
  const bool heel = kind == CardKind::heel;
  CardPage page;
  page.size_mm = sheet_mm(sheet);
  page.grid_top_left_mm = grid_top_left_mm(card, page.size_mm);
  page.bar_length_mm = printed_bar_mm(kind);
  const double indent_mm = heel ? 0.5 * (card.columns * card.pitch_mm - page.bar_length_mm) : 0.0;
  page.bar_start_mm =
      page.grid_top_left_mm +
      Eigen::Vector2d(indent_mm,
                      card.rows * card.pitch_mm + (heel ? kHeelBarBelowGrid_mm : kBarBelowGrid_mm));
  return page;
}

}  // namespace evenbevel
