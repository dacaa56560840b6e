#include <algorithm>

#include "card/pdf_page.hpp"
#include "evenbevel/advice.hpp"
#include "evenbevel/plan_report.hpp"
#include "report/plan_card_parts.hpp"
#include "units/fixed.hpp"

namespace evenbevel {
namespace {

using Q = PlanQuantity;

constexpr double kMargin_mm = 11.0;

Eigen::Vector2d upright_mm(Sheet sheet) {
  const Eigen::Vector2d landscape = card_page(CardKind::lens, sheet).size_mm;
  return {landscape.y(), landscape.x()};
}

/// Bytes of the UTF-8 character that starts there; 0 when none does (RFC 3629, section 4).
std::size_t character_length(std::string_view text) {
  const auto byte = [text](std::size_t i) {
    return i < text.size() ? static_cast<unsigned char>(text[i]) : 0U;
  };
  const unsigned lead = byte(0), second = byte(1);
  if (lead < 0x80) return 1;
  const std::size_t length = lead < 0xC2   ? 0
                             : lead < 0xE0 ? 2
                             : lead < 0xF0 ? 3
                             : lead < 0xF5 ? 4
                                           : 0;
  for (std::size_t i = 1; i < length; ++i) {
    if ((byte(i) & 0xC0U) != 0x80U) return 0;
  }
  const bool overlong = (lead == 0xE0 && second < 0xA0) || (lead == 0xF0 && second < 0x90);
  const bool surrogate = lead == 0xED && second >= 0xA0;
  const bool beyond = lead == 0xF4 && second >= 0x90;
  return overlong || surrogate || beyond ? 0 : length;
}

/// A name may hold anything; Cairo stops drawing at what is not UTF-8.
std::string printable(std::string_view text) {
  std::string out;
  while (!text.empty()) {
    const std::size_t length = character_length(text);
    const bool control = static_cast<unsigned char>(text.front()) < 0x20 || text.front() == 0x7F;
    out += length == 0 || control ? "?" : text.substr(0, length);
    text.remove_prefix(std::max<std::size_t>(length, 1));
  }
  return out;
}

void draw_head(const PlanDrawing& drawing, const PageBox& area) {
  const double right = area.x + area.width;
  const std::string knife = printable(drawing.plan.request.knife);
  drawing.write("SET-UP", {area.x, area.y + 8.0}, {9.5, Weight::bold, kBlack});
  if (knife.empty()) {
    drawing.write("knife", {right - 112.0, area.y + 8.0}, {4.2, Weight::normal, kDarkGrey});
    drawing.pen.line({right - 98.0, area.y + 8.6}, {right - 46.0, area.y + 8.6}, 0.25, kDarkGrey);
  } else {
    const TextStyle style = drawing.fitted(knife, {7.5, Weight::bold, kBlack}, 92.0);
    drawing.write(knife, {right - 46.0, area.y + 8.0}, style, TextAlign::right);
  }
  drawing.write("date", {right - 41.0, area.y + 8.0}, {4.2, Weight::normal, kDarkGrey});
  drawing.pen.line({right - 30.0, area.y + 8.6}, {right, area.y + 8.6}, 0.25, kDarkGrey);
}

struct Tile {
  std::string title, number, unit, below;
};

std::vector<Tile> tiles(const PlanDrawing& drawing) {
  std::vector<Tile> all;
  const Plan& plan = drawing.plan;
  const auto add_length = [&](const char* title, Q quantity) {
    const std::optional<double> mm = plan.at(quantity);
    if (!mm) return;
    all.push_back(
        {title, drawing.length_number(*mm), drawing.unit_name(), drawing.other_length(*mm)});
  };
  add_length("SCRIBE, from each face", Q::scribe_height);
  if (plan.at(Q::bevel_angle)) {
    all.push_back({"BEVEL ANGLE, per side", PlanDrawing::angle(*plan.at(Q::bevel_angle)), "",
                   PlanDrawing::angle(2.0 * *plan.at(Q::bevel_angle)) + " included"});
  }
  add_length("BEVEL LINE, from the edge", Q::bevel_height);
  if (all.size() < 3 && plan.at(Q::sharpening_angle)) {
    all.push_back({"SHARPENING, per side", PlanDrawing::angle(*plan.at(Q::sharpening_angle)), "",
                   PlanDrawing::angle(2.0 * *plan.at(Q::sharpening_angle)) + " included"});
  }
  return all;
}

struct TileStyle {
  TextStyle title{4.3, Weight::bold, kDarkGrey}, number{14.0, Weight::bold, kBlack};
};

/// One size for all of them.
TileStyle tile_style(const PlanDrawing& drawing, const std::vector<Tile>& all, double inner_mm) {
  constexpr double kUnit_mm = 13.0;
  TileStyle style;
  for (const Tile& tile : all) {
    style.title = drawing.fitted(tile.title, style.title, inner_mm);
    style.number =
        drawing.fitted(tile.number, style.number, inner_mm - (tile.unit.empty() ? 0.0 : kUnit_mm));
  }
  return style;
}

constexpr double kTileInset_mm = 4.0;

void draw_tile(const PlanDrawing& drawing, const PageBox& box, const Tile& tile,
               const TileStyle& style) {
  const double x = box.x + kTileInset_mm;
  drawing.pen.boxes({box}, kPaleGrey);
  drawing.pen.boxes({{box.x, box.y, box.width, 1.6}}, kLaneGreen);
  drawing.write(tile.title, {x, box.y + 8.2}, style.title);
  drawing.write(tile.number, {x, box.y + 23.0}, style.number);
  const double width = drawing.pen.text_width(tile.number, style.number);
  drawing.write(tile.unit, {x + width + 2.0, box.y + 23.0}, {5.8, Weight::bold, kBlack});
  drawing.write(tile.below, {x, box.y + 30.2}, {5.4, Weight::normal, kBlack});
}

void draw_tiles(const PlanDrawing& drawing, const PageBox& area) {
  constexpr double kGap_mm = 4.0, kWidest_mm = 90.0;
  const std::vector<Tile> all = tiles(drawing);
  if (all.empty()) return;
  const double count = static_cast<double>(all.size());
  const double width = std::min(kWidest_mm, (area.width - kGap_mm * (count - 1.0)) / count);
  const TileStyle style = tile_style(drawing, all, width - 2.0 * kTileInset_mm);
  double x = area.x;
  for (const Tile& tile : all) {
    draw_tile(drawing, {x, area.y, width, area.height}, tile, style);
    x += width + kGap_mm;
  }
}

/// Under the tiles: how to scribe, and how the bevel line moves.
void draw_advice(const PlanDrawing& drawing, const PageBox& area) {
  constexpr double kGap_mm = 6.0, kShare = 0.6, kLeading_mm = 4.9;
  const TextStyle style{3.7, Weight::normal, kBlack};
  const bool scribe = drawing.plan.at(Q::scribe_height).has_value();
  const std::optional<BevelLineShift>& shift = drawing.plan.bevel_line;
  const double left = !scribe ? 0.0 : !shift ? area.width : kShare * area.width;
  if (scribe) {
    drawing.pen.paragraph(
        "Scribe one line, turn the blade over, scribe the other at the same setting: even about "
        "the "
        "middle though the gauge's zero be off; only the gap changes, by twice that.",
        {area.x, area.y + 4.0}, left, kLeading_mm, style);
  }
  if (shift) {
    const double x = area.x + left + (scribe ? kGap_mm : 0.0);
    drawing.pen.paragraph("A thou off a bevel moves its line " + fixed(shift->off_bevel, 1) +
                              " thou up; 0.01 mm moves it by as many hundredths.",
                          {x, area.y + 4.0}, area.x + area.width - x, kLeading_mm, style);
  }
}

double draw_cautions(const PlanDrawing& drawing, const PageBox& area) {
  std::string text;
  for (const std::string& caution : cautions()) text += caution + ' ';
  drawing.pen.boxes({{area.x, area.y, area.width, 0.5}}, kBlack);
  drawing.write("CAUTION", {area.x, area.y + 6.0}, {4.2, Weight::bold, kBlack});
  return drawing.pen.paragraph(text, {area.x + 25.0, area.y + 6.0}, area.width - 25.0, 4.7,
                               {3.5, Weight::normal, kBlack});
}

void draw_card_page(const PlanDrawing& drawing, const Eigen::Vector2d& size_mm) {
  constexpr double kHead = 12.5, kTiles = 33.0, kAdvice = 15.5, kCautions = 26.0;
  constexpr double kTables = 66.0, kGap = 2.5;
  const double x = kMargin_mm, width = size_mm.x() - 2.0 * kMargin_mm;
  const double bottom = size_mm.y() - kMargin_mm;
  double y = kMargin_mm - 1.0;
  drawing.pen.paper(size_mm);
  draw_head(drawing, {x, y, width, kHead});
  y += kHead;
  draw_tiles(drawing, {x, y, width, kTiles});
  y += kTiles + kGap;
  draw_advice(drawing, {x, y, width, kAdvice});
  y += kAdvice + kGap;
  const double taper_top = bottom - kCautions - taper_height(drawing);
  const double middle = taper_top - y - kGap;
  draw_section(drawing, {x, y, width - kTables - kGap, middle});
  draw_tables(drawing, {x + width - kTables, y, kTables, middle});
  draw_taper(drawing, {x, taper_top, width, taper_height(drawing)});
  draw_cautions(drawing, {x, bottom - kCautions, width, kCautions});
}

}  // namespace

void PlanDrawing::write(std::string_view text, const Eigen::Vector2d& baseline_mm,
                        const TextStyle& style, TextAlign align) const {
  const double width = align == TextAlign::left ? 0.0 : pen.text_width(text, style);
  const double back = align == TextAlign::right ? width : width / 2.0;
  pen.text(text, baseline_mm - Eigen::Vector2d(align == TextAlign::left ? 0.0 : back, 0.0), style);
}

TextStyle PlanDrawing::fitted(std::string_view text, TextStyle style, double width_mm) const {
  const double width = pen.text_width(text, style);
  if (width > width_mm) style.size_mm *= width_mm / width;
  return style;
}

std::string PlanDrawing::length(double mm) const { return format_length(mm, unit); }

std::string PlanDrawing::length_number(double mm) const {
  const std::string text = length(mm);
  return text.substr(0, text.find(' '));
}

std::string PlanDrawing::other_length(double mm) const {
  return format_length(mm, unit == LengthUnit::mm ? LengthUnit::inch : LengthUnit::mm);
}

std::string PlanDrawing::unit_name() const {
  if (unit == LengthUnit::thou) return "thou";
  return unit == LengthUnit::mm ? "mm" : "in";
}

std::string PlanDrawing::angle(double angle_rad) { return fixed(degrees(angle_rad), 2) + "\u00b0"; }

std::string plan_card(const Plan& plan, LengthUnit unit, Sheet sheet) {
  const Eigen::Vector2d size_mm = upright_mm(sheet);
  const std::string title =
      "evenbevel set-up" + (plan.request.knife.empty() ? "" : ": " + printable(plan.request.knife));
  return pdf_page(size_mm, title, [&](Pen& pen) {
    draw_card_page(PlanDrawing{pen, plan, unit}, size_mm);
  });
}

}  // namespace evenbevel
