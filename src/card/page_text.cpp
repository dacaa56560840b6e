#include "page_text.hpp"

#include <cmath>

namespace evenbevel {
namespace {

std::string whole(double value) { return std::to_string(std::lround(value)); }

std::vector<std::string> steps(CardKind kind) {
  switch (kind) {
    case CardKind::lens:
      return {"Print at 100 % (actual size, never fit to page) and check the bar.",
              "Glue the sheet on something flat and stiff: float glass, a tile, a surface plate.",
              "Set the focus to the distance you will measure at, 200 to 400 mm, and leave it.",
              "Take 12 to 20 photos: square on, tilted to 40 degrees each way, turned a quarter, "
              "filling each corner of the frame."};
    case CardKind::edge:
      return {"Print at 100 % (actual size, never fit to page) and check the bar.",
              "Glue the sheet on flat, stiff board about 1 mm thick. Trim it along the dashed "
              "lines.",
              "Cut the slot along the green lane, between the ticks: in from the right end, and "
              "stop 10 mm before the left end, so that the card stays one piece.",
              "Clamp the blade edge up between two square-sided jaws. Drop the card over the edge, "
              "flat on the jaws, the edge 2 to 10 mm proud, best with the tip to the right.",
              "Take the photo from 200 to 400 mm above, roughly over the edge, in even light. "
              "Cover nothing of the pattern."};
    case CardKind::side:
      return {"Print at 100 % (actual size, never fit to page) and check the bar.",
              "Glue the sheet on flat, stiff board about 1 mm thick.",
              "Lay the blade flat on the green lane, clear of the pattern, and take the photo from "
              "straight above.",
              "Then the other face. Mind the edge. For scratches: one low lamp half a metre out, "
              "in line with ticks 1 to 4 in turn."};
    case CardKind::heel:
      return {
          "Print at 100 % (actual size, never fit to page) and check the bar.",
          "Glue the sheet on flat, stiff board about 1 mm thick. Trim it along the dashed lines.",
          "Cut the green lane out, and on down through the lower rim, so that it is open at "
          "the bottom.",
          "Clamp the blade edge up, heel toward the camera. Drop the card over it, standing "
          "square on the jaws, in the plane of the heel, a small block at its back on either "
          "side.",
          "Hang plain white paper behind, and take the photo from straight in front of the "
          "heel."};
  }
  return {};
}

std::string title(CardKind kind) {
  switch (kind) {
    case CardKind::lens:
      return "LENS CARD";
    case CardKind::edge:
      return "EDGE CARD";
    case CardKind::side:
      return "SIDE CARD";
    case CardKind::heel:
      return "HEEL CARD";
  }
  return {};
}

}  // namespace

CardText card_text(CardKind kind) {
  const CardLayout& card = card_layout(kind);
  const CardPage page = card_page(kind, Sheet::a4);
  const std::string pitch = whole(card.pitch_mm);
  const std::string last =
      std::to_string(card.first_id + static_cast<int>(card.marker_cells.size()) - 1);
  CardText text;
  text.title = title(kind);
  text.facts = "evenbevel, " + std::to_string(card.columns) + " x " + std::to_string(card.rows) +
               " cells of " + pitch + " mm, markers " + std::to_string(card.first_id) + " to " +
               last;
  text.check = whole(page.bar_length_mm) +
               " mm from end to end: check with calipers. The pattern is " +
               whole(card.columns * card.pitch_mm) + " mm wide and " +
               whole(card.rows * card.pitch_mm) + " mm high.";
  text.steps = steps(kind);
  text.caution =
      "A ground edge cuts even when it looks blunt: tape or sheath all but the measured part.";
  return text;
}

CardText practice_text() {
  CardText text = card_text(CardKind::edge);
  text.title = "PRACTICE STRIP";
  text.steps = {
      "Print at 100 % (actual size, never fit to page) on plain white paper, and measure the bar.",
      "Lay the sheet on something flat, such as glass or a board, and hold its corners down. "
      "Nothing is cut.",
      "Soft light from both sides, no glare. Phone 200 to 400 mm above the strip, the pattern "
      "filling the picture; tap on the strip to focus.",
      "Copy the original photo (no messenger's copy) and type: evenbevel edge PHOTO --practice "
      "--printed-bar WHAT-THE-BAR-MEASURES"};
  return text;
}

}  // namespace evenbevel
