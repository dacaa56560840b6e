#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "evenbevel/printed.hpp"
#include "report/plan_card_parts.hpp"

namespace evenbevel {
namespace {

using Q = PlanQuantity;
using Eigen::Vector2d;

constexpr double kOutline_mm = 0.6, kThin_mm = 0.25;
constexpr double kNumber_mm = 5.8;  // em of a dimension's number
const TextStyle kNumber{kNumber_mm, Weight::bold, kBlack};
const TextStyle kLabel{3.7, Weight::normal, kBlack};
constexpr Ink kSteel{0.85, 0.87, 0.88};

/// The section in mm of the blade, edge at 0, spine upward.
struct Section {
  double stock = 0.0, land = 0.0, bevel_height = 0.0, top = 0.0;
  bool cut_off = false;  ///< The spine is farther up.
  bool facets = false;   ///< Before the bevels: only the edge facets are ground.
};

Section section_of(const Plan& plan) {
  Section section;
  section.stock = *plan.at(Q::stock);
  section.land = plan.at(Q::land).value_or(0.0);
  const std::optional<double> bevel = plan.at(Q::bevel_height);
  section.facets = !bevel && plan.facet.has_value();
  section.bevel_height = bevel ? *bevel : section.facets ? plan.facet->height_mm : 0.0;
  const std::optional<double> height = plan.at(Q::blade_height);
  section.cut_off = !height || section.facets;
  section.top = section.cut_off ? std::max(section.bevel_height * 1.25, section.stock) : *height;
  return section;
}

/// Where the section stands on the page; thickness and height have scales of their own.
struct Frame {
  Vector2d edge_mm;  ///< Middle of the land on the page.
  double across = 1.0, up = 1.0;

  Vector2d at(double y_mm, double z_mm) const {
    return {edge_mm.x() + across * y_mm, edge_mm.y() - up * z_mm};
  }
};

std::vector<Vector2d> outline(const Section& s, const Frame& frame) {
  const double half = s.stock / 2.0, edge = s.land / 2.0;
  std::vector<Vector2d> points{frame.at(-edge, 0.0), frame.at(-half, s.bevel_height),
                               frame.at(-half, s.top)};
  if (s.cut_off) {  // a zigzag: the bar goes on
    const double step = 1.6;
    for (int i = 1; i < 8; ++i) {
      const Vector2d on_top = frame.at(-half + s.stock * i / 8.0, s.top);
      points.push_back(on_top + Vector2d(0.0, i % 2 == 0 ? step : -step));
    }
  }
  points.push_back(frame.at(half, s.top));
  points.push_back(frame.at(half, s.bevel_height));
  points.push_back(frame.at(edge, 0.0));
  return points;
}

void arrow(Pen& pen, const Vector2d& tip, const Vector2d& direction) {
  constexpr double kLong = 2.6, kHalf = 0.75;
  const Vector2d back = tip - kLong * direction;
  const Vector2d side = kHalf * Vector2d(-direction.y(), direction.x());
  pen.shape({tip, back + side, back - side}, kBlack);
}

/// A dimension line between two points; arrows from outside when they would not fit between.
void dimension_line(Pen& pen, const Vector2d& a, const Vector2d& b) {
  const Vector2d along = (b - a).normalized();
  if ((b - a).norm() > 8.0) {
    pen.line(a, b, kThin_mm, kBlack);
    arrow(pen, a, -along);
    arrow(pen, b, along);
    return;
  }
  pen.line(a - 6.0 * along, a, kThin_mm, kBlack);
  pen.line(b, b + 6.0 * along, kThin_mm, kBlack);
  arrow(pen, a, along);
  arrow(pen, b, -along);
}

void extension(Pen& pen, const Vector2d& from, const Vector2d& to) {
  pen.line(from, to, kThin_mm, kGrey);
}

/// Number and, smaller below it, the other unit; on white.
void dimension_text(const PlanDrawing& drawing, const Vector2d& centre, const std::string& what,
                    double mm) {
  const std::string first = drawing.length_number(mm), second = drawing.other_length(mm);
  const double width =
      std::max({drawing.pen.text_width(first, kNumber), drawing.pen.text_width(what, kLabel)}) +
      1.6;
  drawing.pen.boxes({{centre.x() - width / 2.0, centre.y() - 8.3, width, 15.4}}, {1.0, 1.0, 1.0});
  drawing.write(what, centre + Vector2d(0.0, -4.2), kLabel, TextAlign::centre);
  drawing.write(first, centre + Vector2d(0.0, 1.3), kNumber, TextAlign::centre);
  drawing.write(second, centre + Vector2d(0.0, 5.9), kLabel, TextAlign::centre);
}

void vertical_dimension(const PlanDrawing& drawing, double x, const Vector2d& low,
                        const Vector2d& high, const std::string& what, double mm) {
  extension(drawing.pen, low, {x - 1.5, low.y()});
  extension(drawing.pen, high, {x - 1.5, high.y()});
  dimension_line(drawing.pen, {x, low.y()}, {x, high.y()});
  dimension_text(drawing, {x, (low.y() + high.y()) / 2.0}, what, mm);
}

void draw_heights(const PlanDrawing& drawing, const Section& s, const Frame& frame) {
  constexpr double kInner = 13.5, kOuter = 38.0, kRoomForText = 17.0;
  const Plan& plan = drawing.plan;
  const Vector2d edge = frame.at(-s.land / 2.0, 0.0), top = frame.at(-s.stock / 2.0, s.top);
  const Vector2d line = frame.at(-s.stock / 2.0, s.bevel_height);
  const double left = top.x();
  const bool whole = !s.cut_off;
  const bool full = s.top - s.bevel_height < 1e-6;  // one dimension says both heights
  if (s.bevel_height > 0.0) {
    vertical_dimension(drawing, left - kInner, edge, line,
                       s.facets ? "edge facet"
                       : full   ? "full bevel"
                                : "bevel",
                       s.bevel_height);
  }
  if (whole && plan.at(Q::flat_height) && line.y() - top.y() > kRoomForText) {
    vertical_dimension(drawing, left - kInner, line, top, "flat", *plan.at(Q::flat_height));
  }
  if (whole && !full) vertical_dimension(drawing, left - kOuter, edge, top, "blade", s.top);
}

void draw_stock(const PlanDrawing& drawing, const Section& s, const Frame& frame) {
  constexpr double kAbove = 6.0;
  const Vector2d left = frame.at(-s.stock / 2.0, s.top), right = frame.at(s.stock / 2.0, s.top);
  const double y = left.y() - kAbove;
  extension(drawing.pen, left - Vector2d(0.0, 1.0), {left.x(), y - 1.5});
  extension(drawing.pen, right - Vector2d(0.0, 1.0), {right.x(), y - 1.5});
  dimension_line(drawing.pen, {left.x(), y}, {right.x(), y});
  const Vector2d middle(frame.edge_mm.x(), y - 2.2);
  drawing.write("stock " + drawing.length_number(s.stock), middle + Vector2d(0.0, -4.6), kNumber,
                TextAlign::centre);
  drawing.write(drawing.other_length(s.stock), middle, kLabel, TextAlign::centre);
}

void draw_land(const PlanDrawing& drawing, const Section& s, const Frame& frame) {
  if (!drawing.plan.at(Q::land)) return;
  constexpr double kScribeRow = 7.5, kLandRow = 18.0;
  Pen& pen = drawing.pen;
  const double half = s.stock / 2.0, edge = s.land / 2.0, y = frame.edge_mm.y();
  for (const double side : {-1.0, 1.0}) {
    extension(pen, frame.at(side * edge, 0.0) + Vector2d(0.0, 0.8),
              {frame.at(side * edge, 0.0).x(), y + kLandRow + 1.5});
    extension(pen, frame.at(side * half, s.bevel_height) + Vector2d(0.0, 0.8),
              {frame.at(side * half, 0.0).x(), y + kScribeRow + 1.5});
    const Vector2d face(frame.at(side * half, 0.0).x(), y + kScribeRow);
    dimension_line(pen, face, {frame.at(side * edge, 0.0).x(), y + kScribeRow});
    const TextAlign align = side < 0.0 ? TextAlign::right : TextAlign::left;
    const Vector2d text = face + Vector2d(side * 1.8, 0.0);
    const double scribe = *drawing.plan.at(Q::scribe_height);
    drawing.write("scribe", text + Vector2d(0.0, -2.9), kLabel, align);
    drawing.write(drawing.length_number(scribe), text + Vector2d(0.0, 2.0), kNumber, align);
    drawing.write(drawing.other_length(scribe), text + Vector2d(0.0, 6.4), kLabel, align);
  }
  dimension_line(pen, {frame.at(-edge, 0.0).x(), y + kLandRow},
                 {frame.at(edge, 0.0).x(), y + kLandRow});
  drawing.write("land " + drawing.length_number(s.land), {frame.edge_mm.x(), y + kLandRow + 6.2},
                kNumber, TextAlign::centre);
  drawing.write(drawing.other_length(s.land), {frame.edge_mm.x(), y + kLandRow + 10.8}, kLabel,
                TextAlign::centre);
}

// ------------------------------------------------------------------ labels to the right of it

struct Leader {
  Vector2d from;
  std::string what, number;
  double y = 0.0;
};

/// Labels a line apart, each as near its own place as that allows, none below the last.
void spread(std::vector<Leader>& leaders, double lowest_y) {
  constexpr double kApart = 11.5;
  std::sort(leaders.begin(), leaders.end(),
            [](const Leader& a, const Leader& b) { return a.from.y() > b.from.y(); });
  double limit = lowest_y;
  for (Leader& leader : leaders) {
    leader.y = std::min(leader.from.y(), limit);
    limit = leader.y - kApart;
  }
}

std::string plain_depth(double depth_mm, LengthUnit unit) {
  return "at " + trimmed_length(depth_mm, unit == LengthUnit::mm ? unit : LengthUnit::inch);
}

std::vector<Leader> leaders(const PlanDrawing& drawing, const Section& s, const Frame& frame) {
  std::vector<Leader> all;
  if (s.facets) return all;
  for (const BehindEdge& row : drawing.plan.behind_edge) {
    if (row.depth_mm > s.top) continue;
    all.push_back({frame.at(row.ground_mm / 2.0, row.depth_mm),
                   plain_depth(row.depth_mm, drawing.unit), drawing.length_number(row.ground_mm)});
  }
  const std::optional<double> angle = drawing.plan.at(Q::bevel_angle);
  if (angle && s.bevel_height > 0.0) {
    const double z = 0.85 * s.bevel_height;
    all.push_back({frame.at((s.land + (s.stock - s.land) * 0.85) / 2.0, z), "bevel",
                   PlanDrawing::angle(*angle)});
  }
  return all;
}

void draw_leaders(const PlanDrawing& drawing, const Section& s, const Frame& frame) {
  constexpr double kOut = 9.0;
  const double x = frame.at(s.stock / 2.0, 0.0).x() + kOut;
  std::vector<Leader> all = leaders(drawing, s, frame);
  spread(all, frame.edge_mm.y() - 8.0);
  for (const Leader& leader : all) {
    const Vector2d knee(x - 4.0, leader.y);
    drawing.pen.line(leader.from, knee, kThin_mm, kBlack);
    drawing.pen.line(knee, {x - 0.8, leader.y}, kThin_mm, kBlack);
    drawing.pen.boxes({{leader.from.x() - 0.6, leader.from.y() - 0.6, 1.2, 1.2}}, kBlack);
    drawing.write(leader.what, {x, leader.y - 2.8}, kLabel);
    drawing.write(leader.number, {x, leader.y + 2.6}, kNumber);
  }
}

// -------------------------------------------------------------------------------- the whole

void draw_steel(const PlanDrawing& drawing, const Section& s, const Frame& frame) {
  const std::vector<Vector2d> rim = outline(s, frame);
  drawing.pen.shape(rim, kSteel);
  for (std::size_t i = 0; i < rim.size(); ++i) {
    drawing.pen.line(rim[i], rim[(i + 1) % rim.size()], kOutline_mm, kBlack);
  }
  const Vector2d over(0.0, 4.0);
  drawing.pen.line(frame.at(0.0, s.top) - over, frame.at(0.0, 0.0) + over, kThin_mm, kDarkGrey,
                   2.0);
  const std::optional<double> height = drawing.plan.at(Q::sharpened_height);
  const std::optional<double> shoulder = drawing.plan.at(Q::shoulder_thickness);
  if (!height || !shoulder || s.facets || s.bevel_height == 0.0) return;
  for (const double side : {-0.5, 0.5}) {
    drawing.pen.line(frame.at(0.0, 0.0), frame.at(side * *shoulder, *height), 0.4, kLaneGreen);
  }
}

std::string scale_note(const PlanDrawing& drawing, const Frame& frame) {
  const double times = frame.across / frame.up;
  const char* unit = drawing.unit == LengthUnit::mm     ? "mm, inches below"
                     : drawing.unit == LengthUnit::inch ? "inches, mm below"
                                                        : "thousandths of an inch, mm below";
  return fmt::format("Edge down; {}; thickness drawn {:.{}f} times as large as height.", unit,
                     times, times < 10.0 ? 1 : 0);
}

/// Ruled lines where the page has room left.
void draw_notes(const PlanDrawing& drawing, const PageBox& area) {
  constexpr double kLeast_mm = 20.0, kLine_mm = 8.0;
  if (area.height < kLeast_mm) return;
  drawing.write("notes", {area.x, area.y + 4.0}, {3.7, Weight::normal, kDarkGrey});
  const int lines = static_cast<int>((area.height - 4.0) / kLine_mm);
  for (int i = 1; i <= lines; ++i) {
    const double y = area.y + 4.0 + i * kLine_mm;
    drawing.pen.line({area.x, y}, {area.x + area.width, y}, 0.2, kGrey);
  }
}

}  // namespace

void draw_section(const PlanDrawing& drawing, const PageBox& area) {
  constexpr double kLeft = 50.0, kRight = 32.0, kAbove = 16.0, kBelow = 37.0;
  if (!drawing.plan.at(Q::stock)) return;
  const Section section = section_of(drawing.plan);
  const double width = area.width - kLeft - kRight, height = area.height - kAbove - kBelow;
  Frame frame;
  frame.across = width / section.stock;
  frame.up = std::min(height / section.top, frame.across);
  frame.edge_mm = {area.x + kLeft + width / 2.0, area.y + kAbove + frame.up * section.top};
  draw_stock(drawing, section, frame);
  draw_land(drawing, section, frame);
  draw_steel(drawing, section, frame);
  draw_heights(drawing, section, frame);
  draw_leaders(drawing, section, frame);
  const std::string note = scale_note(drawing, frame);
  const double bottom = frame.edge_mm.y() + kBelow;
  drawing.write(note, {area.x, bottom - 2.0},
                drawing.fitted(note, {3.2, Weight::normal, kDarkGrey}, area.width));
  draw_notes(drawing, {area.x, bottom + 6.0, area.width, area.y + area.height - bottom - 6.0});
}

}  // namespace evenbevel
