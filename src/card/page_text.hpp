#pragma once

#include <string>
#include <vector>

#include "evenbevel/card.hpp"

namespace evenbevel {

/// The words on a printed card.
struct CardText {
  std::string title;
  std::string facts;               ///< One line: the pattern, for telling sheets apart.
  std::string check;               ///< Beside the check bar.
  std::vector<std::string> steps;  ///< Setting up, in order.
  std::string caution;
};

CardText card_text(CardKind kind);

/// Of the edge card with the practice strip in its lane.
CardText practice_text();

}  // namespace evenbevel
