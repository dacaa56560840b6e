#pragma once

#include <string>
#include <vector>

#include "record/preview.hpp"

namespace evenbevel {

/// A stage's picture with its words.
struct Shot {
  std::string title = {};  ///< "120 grit".
  std::string alt = {};    ///< For those who do not see it.
  Preview picture = {};
};

/// The pictures of one view, one below the other, and, with the script, two of them laid over each
/// other with a border that a slider moves.
std::string wipe_html(const std::string& name, const std::vector<Shot>& shots);

std::string wipe_style();
std::string wipe_script();

}  // namespace evenbevel
