#pragma once

#include <string>
#include <vector>

#include "evenbevel/card.hpp"
#include "evenbevel/practice_strip.hpp"
#include "page_text.hpp"
#include "pen.hpp"

namespace evenbevel {

/// A card on its page; borrowed, for the time of drawing.
struct Drawing {
  const CardLayout& card;
  const CardPage& page;
  const CardText& text;
  const PracticeStrip* strip = nullptr;  ///< In the edge card's lane, and words of its own.

  double left() const { return page.grid_top_left_mm.x(); }
  double top() const { return page.grid_top_left_mm.y(); }
  double width() const { return card.columns * card.pitch_mm; }
  double height() const { return card.rows * card.pitch_mm; }
  double right() const { return left() + width(); }
  double bottom() const { return top() + height(); }
};

void draw_page(Pen& pen, const Drawing& drawing);

/// What the practice card has beside its grid.
void draw_practice(Pen& pen, const Drawing& drawing, const PracticeStrip& strip);

/// The marker's black cells in a cell of the grid, those next to each other in a row as one box.
void add_marker(const PageBox& cell, int id, std::vector<PageBox>& black);

/// Beside and below the bar: what the card is, and how to check the print.
void draw_name(Pen& pen, const Drawing& drawing);

struct Column {
  Eigen::Vector2d top_mm;
  double width_mm;
};
/// Numbered steps, one below the other. Returns the next free baseline.
double draw_steps(Pen& pen, const std::vector<std::string>& steps, std::size_t first,
                  std::size_t count, const Column& column, const TextStyle& style);

/// Little pictures of the set-up. `top_left_mm` is theirs; about 116 x 26 mm and 60 x 34 mm.
void sketch_edge_slot(Pen& pen, const Eigen::Vector2d& top_left_mm);
void sketch_edge_setup(Pen& pen, const Eigen::Vector2d& top_left_mm);
void sketch_heel_setup(Pen& pen, const Eigen::Vector2d& top_left_mm);

}  // namespace evenbevel
