#include <sstream>

#include "commands.hpp"
#include "evenbevel/advice.hpp"

namespace evenbevel::cli {
namespace {

constexpr std::size_t kColumns = 92;

std::string wrapped(const std::string& sentence) {
  std::istringstream words(sentence);
  std::string text, line = " ";
  for (std::string word; words >> word;) {
    if (line.size() + 1 + word.size() > kColumns) {
      text += line + '\n';
      line = "   ";
    }
    line += ' ' + word;
  }
  return text + line + '\n';
}

}  // namespace

std::string help_cautions() {
  std::string text = "Cautions:\n";
  for (const std::string& caution : cautions()) text += wrapped(caution);
  return text;
}

}  // namespace evenbevel::cli
