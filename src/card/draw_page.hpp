#pragma once

#include "evenbevel/card.hpp"
#include "page_text.hpp"
#include "pen.hpp"

namespace evenbevel {

/// A card on its page; borrowed, for the time of drawing.
struct Drawing {
  const CardLayout& card;
  const CardPage& page;
  const CardText& text;

  double left() const { return page.grid_top_left_mm.x(); }
  double top() const { return page.grid_top_left_mm.y(); }
  double width() const { return card.columns * card.pitch_mm; }
  double height() const { return card.rows * card.pitch_mm; }
  double right() const { return left() + width(); }
  double bottom() const { return top() + height(); }
};

void draw_page(Pen& pen, const Drawing& drawing);

/// Little pictures of the set-up. `top_left_mm` is theirs; about 116 x 26 mm and 60 x 34 mm.
void sketch_edge_slot(Pen& pen, const Eigen::Vector2d& top_left_mm);
void sketch_edge_setup(Pen& pen, const Eigen::Vector2d& top_left_mm);
void sketch_heel_setup(Pen& pen, const Eigen::Vector2d& top_left_mm);

}  // namespace evenbevel
