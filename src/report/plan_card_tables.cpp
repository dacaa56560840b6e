#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "plan/quantities.hpp"
#include "report/plan_card_parts.hpp"

namespace evenbevel {
namespace {

using Q = PlanQuantity;
using Eigen::Vector2d;

constexpr double kRow_mm = 6.1;
const TextStyle kHead{4.3, Weight::bold, kBlack};
const TextStyle kSmallPrint{3.4, Weight::normal, kDarkGrey};
const TextStyle kCell{4.5, Weight::normal, kBlack};
const TextStyle kBold{4.5, Weight::bold, kBlack};

struct Cell {
  std::string text;
  bool bold = false;
};

struct CardTable {
  std::string title;
  std::vector<std::string> head;
  std::vector<std::vector<Cell>> rows;
  std::string note;
};

double table_height(const CardTable& table) {
  return 6.5 + (table.head.empty() ? 0.0 : 5.0) + kRow_mm * static_cast<double>(table.rows.size()) +
         (table.note.empty() ? 0.0 : 5.0) + 3.0;
}

/// First column from the left, the others to equal right edges.
void draw_table(const PlanDrawing& drawing, const CardTable& table, const PageBox& area) {
  double y = area.y + 4.5;
  drawing.write(table.title, {area.x, y}, drawing.fitted(table.title, kHead, area.width));
  drawing.pen.boxes({{area.x, y + 1.6, area.width, 0.5}}, kLaneGreen);
  y += 2.0;
  const std::size_t columns = table.rows.empty() ? 0 : table.rows.front().size();
  const double first = 0.33 * area.width;
  const auto right_of = [&](std::size_t column) {
    return area.x + first +
           (area.width - first) * static_cast<double>(column) / static_cast<double>(columns - 1);
  };
  if (!table.head.empty()) {
    y += 5.0;
    for (std::size_t i = 0; i < table.head.size(); ++i) {
      drawing.write(table.head[i], {i == 0 ? area.x : right_of(i), y}, kSmallPrint,
                    i == 0 ? TextAlign::left : TextAlign::right);
    }
  }
  for (const std::vector<Cell>& row : table.rows) {
    y += kRow_mm;
    for (std::size_t i = 0; i < row.size(); ++i) {
      const double room = (area.width - first) / static_cast<double>(columns - 1) - 1.0;
      const TextStyle style =
          drawing.fitted(row[i].text, row[i].bold ? kBold : kCell, i == 0 ? first - 1.0 : room);
      drawing.write(row[i].text, {i == 0 ? area.x : right_of(i), y}, style,
                    i == 0 ? TextAlign::left : TextAlign::right);
    }
  }
  if (!table.note.empty()) {
    drawing.pen.paragraph(table.note, {area.x, y + 5.0}, area.width, 4.0, kSmallPrint);
  }
}

CardTable behind_edge_table(const PlanDrawing& drawing) {
  CardTable table;
  if (drawing.plan.behind_edge.empty()) return table;
  if (!sharpening_shows(drawing.plan)) return table;  // the drawing shows them
  table.title = "BEHIND THE EDGE, " + drawing.unit_name();
  table.head = {"depth", "as ground", "sharpened"};
  for (const BehindEdge& row : drawing.plan.behind_edge) {
    table.rows.push_back({{fmt::format("{:g} mm", row.depth_mm)},
                          {drawing.length_number(row.ground_mm)},
                          {drawing.length_number(*row.sharpened_mm), true}});
  }
  return table;
}

CardTable sharpening_table(const PlanDrawing& drawing) {
  CardTable table;
  const Plan& plan = drawing.plan;
  if (!plan.at(Q::sharpened_width)) return table;
  table.title = "SHARPENED BEVEL, " + drawing.unit_name();
  const auto add = [&](const char* what, const std::optional<double>& mm) {
    if (!mm) return;
    table.rows.push_back({{what}, {drawing.length_number(*mm), true}, {drawing.other_length(*mm)}});
  };
  add("width", plan.at(Q::sharpened_width));
  add("shoulder", plan.at(Q::shoulder_thickness));
  add("spine lift", plan.spine_lift_mm);
  return table;
}

CardTable drill_table(const PlanDrawing& drawing) {
  constexpr std::size_t kMost = 3;
  CardTable table;
  const std::optional<double> land = drawing.plan.at(Q::land);
  std::vector<DrillChoice> choices = drawing.plan.drill_choices;
  if (choices.empty() || !land) return table;
  std::stable_sort(choices.begin(), choices.end(), [&](const DrillChoice& a, const DrillChoice& b) {
    return std::abs(a.gap_mm - *land) < std::abs(b.gap_mm - *land);
  });
  choices.resize(std::min(kMost, choices.size()));
  table.title = "DRILL ON THE PLATE, " + drawing.unit_name();
  table.head = {"size", "marks at", "gap left"};
  for (const DrillChoice& choice : choices) {
    table.rows.push_back({{choice.drill.name, choice.nearest},
                          {drawing.length_number(choice.line_mm), choice.nearest},
                          {drawing.length_number(choice.gap_mm), choice.nearest}});
  }
  table.note = "Measure the drill first.";
  return table;
}

std::string short_name(const RestSetting& rest) {
  if (rest.what == "sharpening") return "sharpen";
  return rest.what.substr(rest.what.rfind(' ') + 1);  // "facets", "taper"
}

CardTable rest_table(const PlanDrawing& drawing) {
  CardTable table;
  const Plan& plan = drawing.plan;
  const std::optional<double> rest_length = plan.at(Q::rest_length);
  if (plan.rests.empty()) return table;
  table.title = rest_length ? "REST, shim at " + drawing.length(*rest_length) : "REST OR JIG";
  table.head = {"", "to belt", rest_length ? "shim, " + drawing.unit_name() : "off square"};
  for (const RestSetting& rest : plan.rests) {
    table.rows.push_back({{short_name(rest)},
                          {PlanDrawing::angle(rest.to_belt_rad), true},
                          {rest.shim_mm ? drawing.length_number(*rest.shim_mm)
                                        : PlanDrawing::angle(rest.from_square_rad)}});
  }
  return table;
}

// ------------------------------------------------------------------------------ distal taper

/// No more than a page has room for, the tip always among them.
std::vector<PlanStation> chosen_stations(const std::vector<PlanStation>& all) {
  constexpr std::size_t kMost = 7;
  const std::size_t stride = (all.size() + kMost - 2) / (kMost - 1);
  std::vector<PlanStation> chosen;
  for (std::size_t i = 0; i + 1 < all.size(); i += stride) chosen.push_back(all[i]);
  const double step_mm = chosen.size() > 1 ? chosen[1].x_mm - chosen[0].x_mm : 0.0;
  if (chosen.size() > 1 && all.back().x_mm - chosen.back().x_mm < 0.8 * step_mm) chosen.pop_back();
  chosen.push_back(all.back());
  return chosen;
}

struct TaperRow {
  std::string label;
  std::optional<std::string> (*cell)(const PlanDrawing&, const PlanStation&);
  bool bold = false;
};

std::optional<std::string> number_of(const PlanDrawing& drawing, const std::optional<double>& mm) {
  if (!mm) return std::nullopt;
  return drawing.length_number(*mm);
}

std::vector<TaperRow> taper_rows(const PlanDrawing& drawing) {
  const Plan& plan = drawing.plan;
  std::vector<TaperRow> rows{
      {"from plunge",
       [](const PlanDrawing& d, const PlanStation& s) -> std::optional<std::string> {
         const std::string text = d.length_number(s.x_mm);
         return text.substr(0, text.size() - 2);  // 0.1 mm, 0.01 in
       }},
      {"thickness",
       [](const PlanDrawing& d, const PlanStation& s) { return number_of(d, s.thickness_mm); },
       true},
      {"off each face",
       [](const PlanDrawing& d, const PlanStation& s) { return number_of(d, s.off_face_mm); }}};
  if (plan.at(Q::bevel_angle) && plan.at(Q::land)) {
    rows.push_back({"bevel at " + PlanDrawing::angle(*plan.at(Q::bevel_angle)),
                    [](const PlanDrawing& d, const PlanStation& s) {
                      return number_of(d, s.bevel_height_mm);
                    }});
  }
  if (plan.at(Q::bevel_height) && plan.at(Q::land)) {
    rows.push_back({"angle at " + drawing.length(*plan.at(Q::bevel_height)),
                    [](const PlanDrawing&, const PlanStation& s) -> std::optional<std::string> {
                      if (!s.bevel_angle_rad) return std::nullopt;
                      return PlanDrawing::angle(*s.bevel_angle_rad);
                    }});
  }
  return rows;
}

}  // namespace

void draw_tables(const PlanDrawing& drawing, const PageBox& area) {
  double y = area.y;
  for (const CardTable& table : {drill_table(drawing), rest_table(drawing),
                                 sharpening_table(drawing), behind_edge_table(drawing)}) {
    const double height = table_height(table);
    if (table.title.empty() || y + height > area.y + area.height + 3.0) continue;
    draw_table(drawing, table, {area.x, y, area.width, height});
    y += height;
  }
}

double taper_height(const PlanDrawing& drawing) {
  if (drawing.plan.stations.empty()) return 0.0;
  return 24.0 + kRow_mm * static_cast<double>(taper_rows(drawing).size());
}

void draw_taper(const PlanDrawing& drawing, const PageBox& area) {
  constexpr double kLabels = 36.0, kColumn = 11.0, kBladeHeight = 9.0;
  if (drawing.plan.stations.empty()) return;
  const std::vector<PlanStation> stations = chosen_stations(drawing.plan.stations);
  const double length_mm = drawing.plan.stations.back().x_mm;
  const double left = area.x + kLabels + kColumn, right = area.x + area.width - 8.0;
  const auto x_of = [&](const PlanStation& station) {
    return left + (right - left) * station.x_mm / length_mm;
  };
  drawing.write("DISTAL TAPER, " + drawing.unit_name(), {area.x, area.y + 4.5}, kHead);
  drawing.pen.boxes({{area.x, area.y + 6.1, area.width, 0.5}}, kLaneGreen);
  const double middle = area.y + 14.0;
  const double tip =
      kBladeHeight / 2.0 * stations.back().thickness_mm / stations.front().thickness_mm;
  drawing.pen.shape({{left, middle - kBladeHeight / 2.0},
                     {right, middle - tip},
                     {right, middle + tip},
                     {left, middle + kBladeHeight / 2.0}},
                    {0.85, 0.87, 0.88});
  drawing.write("from above", {area.x, middle + 1.2}, kSmallPrint);
  const std::vector<TaperRow> rows = taper_rows(drawing);
  for (const PlanStation& station : stations) {
    const double half = kBladeHeight / 2.0 * station.thickness_mm / stations.front().thickness_mm;
    const double x = x_of(station);
    drawing.pen.line({x, middle - half}, {x, middle + half}, 0.5, kBlack);
  }
  drawing.pen.line({left, middle - kBladeHeight / 2.0}, {right, middle - tip}, 0.5, kBlack);
  drawing.pen.line({left, middle + kBladeHeight / 2.0}, {right, middle + tip}, 0.5, kBlack);
  double y = middle + kBladeHeight / 2.0 + 1.0;
  for (const TaperRow& row : rows) {
    y += kRow_mm;
    drawing.write(row.label, {area.x, y}, drawing.fitted(row.label, kCell, kLabels));
    for (const PlanStation& station : stations) {
      const std::optional<std::string> text = row.cell(drawing, station);
      if (text) {
        const TextStyle style = drawing.fitted(*text, row.bold ? kBold : kCell, 21.0);
        drawing.write(*text, {x_of(station), y}, style, TextAlign::centre);
      }
    }
  }
}

}  // namespace evenbevel
