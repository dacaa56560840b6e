#include "independent_cards.hpp"

#include <fstream>
#include <sstream>

namespace evenbevel::test {
namespace {

void add_marker(std::istringstream& line, IndependentCard& card) {
  IndependentCard::Marker marker;
  line >> marker.id >> marker.cell.column >> marker.cell.row;
  std::string row_bits;
  while (line >> row_bits) marker.bits += row_bits;
  card.markers.push_back(marker);
}

void add_corners(std::istringstream& line, IndependentCard& card) {
  double x_mm = 0.0;
  double y_mm = 0.0;
  line >> y_mm;
  while (line >> x_mm) card.corners_mm.emplace_back(x_mm, y_mm);
}

void add_line(const std::string& what, std::istringstream& line, IndependentCard& card) {
  if (what == "row") {
    line >> card.cells.emplace_back();
  } else if (what == "marker") {
    add_marker(line, card);
  } else if (what == "corners") {
    add_corners(line, card);
  }
}

}  // namespace

IndependentCard independent_card(CardKind kind) {
  std::ifstream file(SOURCE_FOLDER "/tests/card/data/independent_cards.txt");
  IndependentCard card;
  bool ours = false;
  std::string text;
  while (std::getline(file, text)) {
    std::istringstream line(text);
    std::string what;
    std::string card_name;
    line >> what;
    if (what == "card") {
      line >> card_name;
      ours = card_name == name(kind);
      if (ours) line >> card.columns >> card.rows >> card.pitch_mm;
    } else if (ours) {
      add_line(what, line, card);
    }
  }
  return card;
}

}  // namespace evenbevel::test
