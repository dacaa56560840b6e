#include "draw_page.hpp"

#include <algorithm>
#include <cmath>

#include "evenbevel/lamp_ticks.hpp"
#include "marker_bits.hpp"

namespace evenbevel {
namespace {

constexpr double kTrim_mm[2] = {10.0, 15.0};  // rim left round the heel and the edge grid

PageBox cell_box(const Drawing& drawing, CardLayout::Cell cell) {
  const double pitch = drawing.card.pitch_mm;
  return {drawing.left() + cell.column * pitch, drawing.top() + cell.row * pitch, pitch, pitch};
}

void draw_grid(Pen& pen, const Drawing& drawing) {
  const CardLayout& card = drawing.card;
  std::vector<PageBox> black;
  for (int row = 0; row < card.rows; ++row) {
    for (int column = row % 2; column < card.columns; column += 2) {
      if (!card.in_lane({column, row})) black.push_back(cell_box(drawing, {column, row}));
    }
  }
  for (std::size_t i = 0; i < card.marker_cells.size(); ++i) {
    add_marker(cell_box(drawing, card.marker_cells[i]), card.first_id + static_cast<int>(i), black);
  }
  pen.boxes(black, kBlack);
}

void draw_lane(Pen& pen, const Drawing& drawing) {
  const CardLayout& card = drawing.card;
  if (card.lane_columns == 0) return;
  const PageBox first = cell_box(drawing, {card.lane_column, card.lane_row});
  pen.boxes({{first.x, first.y, card.lane_columns * card.pitch_mm, card.lane_rows * card.pitch_mm}},
            kLaneGreen);
}

// Its outer ends are the length: calipers close on them.
void draw_bar(Pen& pen, const CardPage& page) {
  constexpr double kThick = 0.8, kEnd = 4.0, kTick = 2.0;
  const double x = page.bar_start_mm.x(), y = page.bar_start_mm.y();
  const double length = page.bar_length_mm;
  std::vector<PageBox> boxes{{x, y - 0.5 * kThick, length, kThick},
                             {x, y - 0.5 * kEnd, kThick, kEnd},
                             {x + length - kThick, y - 0.5 * kEnd, kThick, kEnd}};
  for (int cm = 1; 10.0 * cm < length - 1.0; ++cm) {
    boxes.push_back({x + 10.0 * cm - 0.1, y - 0.5 * kTick, 0.2, 0.5 * kTick});
  }
  pen.boxes(boxes, kBlack);
}

void draw_edge_hints(Pen& pen, const Drawing& drawing) {
  constexpr double kSlot_mm = 8.0, kWidth = 0.25;
  const double middle = 0.5 * (drawing.top() + drawing.bottom());
  for (const double y : {middle - 0.5 * kSlot_mm, middle + 0.5 * kSlot_mm}) {
    pen.line({drawing.left() - 5.0, y}, {drawing.left() - 1.5, y}, kWidth, kGrey);
    pen.line({drawing.right() + 1.5, y}, {drawing.right() + 5.0, y}, kWidth, kGrey);
  }
  for (const double y : {drawing.top() - kTrim_mm[1], drawing.bottom() + kTrim_mm[1]}) {
    pen.line({6.0, y}, {drawing.page.size_mm.x() - 6.0, y}, kWidth, kGrey, 2.0);
  }
}

void draw_heel_hints(Pen& pen, const Drawing& drawing) {
  constexpr double kWidth = 0.25, kDash = 2.0;
  const double rim = kTrim_mm[0];
  const double left = drawing.left() - rim, right = drawing.right() + rim;
  const double top = drawing.top() - rim, bottom = drawing.bottom() + rim;
  const PageBox lane = cell_box(drawing, {drawing.card.lane_column, drawing.card.lane_row});
  const double lane_right = lane.x + drawing.card.lane_columns * drawing.card.pitch_mm;
  pen.line({left, top}, {right, top}, kWidth, kGrey, kDash);
  pen.line({left, top}, {left, bottom}, kWidth, kGrey, kDash);
  pen.line({right, top}, {right, bottom}, kWidth, kGrey, kDash);
  pen.line({left, bottom}, {right, bottom}, kWidth, kGrey, kDash);
  pen.line({lane.x, drawing.bottom()}, {lane.x, bottom}, kWidth, kGrey, kDash);
  pen.line({lane_right, drawing.bottom()}, {lane_right, bottom}, kWidth, kGrey, kDash);
}

/// Where a ray from the grid's middle has left the grid by `beyond_mm`; up the card is up the page.
Eigen::Vector2d on_ray(const Drawing& drawing, double azimuth_rad, double beyond_mm) {
  const Eigen::Vector2d middle(drawing.left() + 0.5 * drawing.width(),
                               drawing.top() + 0.5 * drawing.height());
  const Eigen::Vector2d way(std::cos(azimuth_rad), -std::sin(azimuth_rad));
  const double across = (0.5 * drawing.width() + beyond_mm) / std::max(1e-9, std::abs(way.x()));
  const double down = (0.5 * drawing.height() + beyond_mm) / std::max(1e-9, std::abs(way.y()));
  return middle + std::min(across, down) * way;
}

/// Close to the grid: printers leave some 4 mm of the sheet white all round, and the grid's upper
/// margin has 6.5 mm.
void draw_lamp_ticks(Pen& pen, const Drawing& drawing) {
  constexpr double kFrom = 0.7, kTo = 2.1, kWidth = 0.5, kAside = 0.8;
  const TextStyle style{1.9, Weight::bold, kBlack};
  for (const LampTick& tick : lamp_ticks()) {
    const Eigen::Vector2d from = on_ray(drawing, tick.azimuth_rad, kFrom);
    const Eigen::Vector2d to = on_ray(drawing, tick.azimuth_rad, kTo);
    pen.line(from, to, kWidth, kBlack);
    const bool beside = to.x() < drawing.left();
    const Eigen::Vector2d number =
        beside ? Eigen::Vector2d(from.x(), from.y() - kAside)
               : Eigen::Vector2d(std::max(from.x(), to.x()) + kAside, drawing.top() - kFrom);
    pen.text(std::to_string(tick.number), number, style, beside);
  }
}

void draw_caution(Pen& pen, const std::string& caution, const Column& column,
                  const TextStyle& style) {
  const double indent = 1.6 * style.size_mm;
  TextStyle sign = style;
  sign.weight = Weight::bold;
  pen.text("!", {column.top_mm.x() + 0.2 * style.size_mm, column.top_mm.y()}, sign);
  pen.paragraph(caution, {column.top_mm.x() + indent, column.top_mm.y()}, column.width_mm - indent,
                1.32 * style.size_mm, style);
}

void draw_tall_card_text(Pen& pen, const Drawing& drawing) {
  draw_name(pen, drawing);
  const TextStyle style{2.45, Weight::normal, kBlack};
  const double y = drawing.page.bar_start_mm.y() + 9.4, gap = 6.0;
  // Two lines and no more: printers leave the lowest 4 to 6 mm of the sheet white.
  const double first = 0.4 * (drawing.width() - gap), second = drawing.width() - gap - first;
  draw_steps(pen, drawing.text.steps, 0, 2, {{drawing.left(), y}, first}, style);
  draw_steps(pen, drawing.text.steps, 2, 2, {{drawing.left() + first + gap, y}, second}, style);
}

void draw_edge_text(Pen& pen, const Drawing& drawing) {
  draw_name(pen, drawing);
  const TextStyle style{3.5, Weight::normal, kBlack};
  const double y = drawing.bottom() + 29.0, gap = 12.0;
  const double half = 0.5 * (drawing.width() - gap), second = drawing.left() + half + gap;
  pen.text("Setting up", {drawing.left(), y - 6.5}, {4.6, Weight::bold, kBlack});
  draw_steps(pen, drawing.text.steps, 0, 3, {{drawing.left(), y}, half}, style);
  const double end = draw_steps(pen, drawing.text.steps, 3, 2, {{second, y}, half}, style);
  draw_caution(pen, drawing.text.caution, {{second, end}, half}, style);
  sketch_edge_slot(pen, {drawing.left(), y + 38.0});
  sketch_edge_setup(pen, {second, y + 33.5});
}

void draw_heel_text(Pen& pen, const Drawing& drawing) {
  const double x = drawing.right() + 30.0;
  const double width = drawing.page.size_mm.x() - x - 15.0;
  const CardPage& page = drawing.page;
  pen.text(drawing.text.title, {x, drawing.top()}, {9.0, Weight::bold, kBlack});
  pen.text(drawing.text.facts, {x, drawing.top() + 6.0}, {2.8, Weight::normal, kBlack});
  const TextStyle style{3.8, Weight::normal, kBlack};
  const double end = draw_steps(pen, drawing.text.steps, 0, drawing.text.steps.size(),
                                {{x, drawing.top() + 17.0}, width}, style);
  draw_caution(pen, drawing.text.caution, {{x, end}, width}, style);
  sketch_heel_setup(pen, {x, end + 14.0});
  pen.paragraph(drawing.text.check, page.bar_start_mm + Eigen::Vector2d(0.0, 6.0),
                1.2 * page.bar_length_mm, 3.6, {2.7, Weight::normal, kBlack});
}

}  // namespace

void add_marker(const PageBox& cell, int id, std::vector<PageBox>& black) {
  const MarkerBits bits = marker_bits(id);
  const double side = kMarkerShare * cell.width, bit = side / kMarkerCells;
  const double x0 = cell.x + 0.5 * (cell.width - side), y0 = cell.y + 0.5 * (cell.height - side);
  for (int row = 0; row < kMarkerCells; ++row) {
    int start = 0;
    for (int column = 0; column <= kMarkerCells; ++column) {
      const bool is_black = column < kMarkerCells &&
                            !bits[static_cast<std::size_t>(row)][static_cast<std::size_t>(column)];
      if (is_black) continue;
      if (column > start) {
        black.push_back({x0 + start * bit, y0 + row * bit, (column - start) * bit, bit});
      }
      start = column + 1;
    }
  }
}

double draw_steps(Pen& pen, const std::vector<std::string>& steps, std::size_t first,
                  std::size_t count, const Column& column, const TextStyle& style) {
  const double leading = 1.32 * style.size_mm, indent = 1.6 * style.size_mm;
  double y = column.top_mm.y();
  for (std::size_t i = first; i < first + count; ++i) {
    TextStyle number = style;
    number.weight = Weight::bold;
    pen.text(std::to_string(i + 1), {column.top_mm.x(), y}, number);
    y = pen.paragraph(steps[i], {column.top_mm.x() + indent, y}, column.width_mm - indent, leading,
                      style);
    y += 0.35 * (style.size_mm > 3.0 ? style.size_mm : 0.0);
  }
  return y;
}

void draw_name(Pen& pen, const Drawing& drawing) {
  const double y = drawing.page.bar_start_mm.y();
  pen.text(drawing.text.title, {drawing.right(), y + 1.8}, {5.6, Weight::bold, kBlack}, true);
  pen.text(drawing.text.check, {drawing.left(), y + 5.4}, {2.6, Weight::normal, kBlack});
  pen.text(drawing.text.facts, {drawing.right(), y + 5.4}, {2.3, Weight::normal, kBlack}, true);
}

void draw_page(Pen& pen, const Drawing& drawing) {
  pen.paper(drawing.page.size_mm);
  draw_lane(pen, drawing);
  draw_grid(pen, drawing);
  draw_bar(pen, drawing.page);
  switch (drawing.card.kind) {
    case CardKind::edge:
      if (drawing.strip != nullptr) {
        draw_practice(pen, drawing, *drawing.strip);
        break;
      }
      draw_edge_hints(pen, drawing);
      draw_edge_text(pen, drawing);
      break;
    case CardKind::heel:
      draw_heel_hints(pen, drawing);
      draw_heel_text(pen, drawing);
      break;
    case CardKind::side:
      draw_lamp_ticks(pen, drawing);
      [[fallthrough]];
    case CardKind::lens:
      draw_tall_card_text(pen, drawing);
      break;
  }
}

}  // namespace evenbevel
