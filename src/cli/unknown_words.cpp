#include "unknown_words.hpp"

#include <algorithm>
#include <cctype>
#include <cstddef>
#include <vector>

namespace evenbevel::cli {
namespace {

std::vector<const CLI::App*> commands_of(const CLI::App& app) {
  return app.get_subcommands([](const CLI::App*) { return true; });
}

std::vector<std::string> option_names(const CLI::App& app) {
  std::vector<std::string> names;
  for (const CLI::Option* option : app.get_options()) {
    for (const std::string& name : option->get_lnames()) names.push_back("--" + name);
    for (const std::string& name : option->get_snames()) names.push_back("-" + name);
  }
  return names;
}

/// A third of the letters may be wrong: common practice, no source.
std::string nearest(const std::string& word, const std::vector<std::string>& known) {
  std::string best;
  int least = std::max(1, static_cast<int>(word.size()) / 3) + 1;
  for (const std::string& one : known) {
    const int apart = letters_apart(word, one);
    if (apart >= least) continue;
    least = apart;
    best = one;
  }
  return best;
}

std::string not_known(const std::string& word, const std::vector<std::string>& known,
                      const std::string& help) {
  const std::string best = nearest(word, known);
  return "there is no '" + word + "'" +
         (best.empty() ? "; '" + help + "' lists what there is" : ": did you mean " + best + "?");
}

/// "-0.5mm" is a value, "-o" and "-oout" are options.
bool is_option(const std::string& word) {
  if (word.size() < 2 || word[0] != '-') return false;
  return word[1] == '-' || std::isalpha(static_cast<unsigned char>(word[1])) != 0;
}

/// Without a value that is joined to it.
std::string option_name(const std::string& word) {
  return word.starts_with("--") ? word.substr(0, word.find('=')) : word.substr(0, 2);
}

}  // namespace

int letters_apart(const std::string& a, const std::string& b) {
  // Optimal string alignment: row i holds how far the first i letters of a are from those of b.
  std::vector<std::vector<int>> apart(a.size() + 1, std::vector<int>(b.size() + 1));
  for (std::size_t i = 0; i <= a.size(); ++i) apart[i][0] = static_cast<int>(i);
  for (std::size_t j = 0; j <= b.size(); ++j) apart[0][j] = static_cast<int>(j);
  for (std::size_t i = 1; i <= a.size(); ++i) {
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const int replaced = apart[i - 1][j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
      apart[i][j] = std::min({apart[i - 1][j] + 1, apart[i][j - 1] + 1, replaced});
      const bool swapped = i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1];
      if (swapped) apart[i][j] = std::min(apart[i][j], apart[i - 2][j - 2] + 1);
    }
  }
  return apart[a.size()][b.size()];
}

std::string unknown_word(const CLI::App& app, std::span<const std::string> words) {
  const CLI::App* command = &app;
  std::string path = "evenbevel";
  for (const std::string& word : words) {
    if (word == "--") return "";
    const std::string help = path + " --help";
    if (is_option(word)) {
      const std::string name = option_name(word);
      const std::vector<std::string> known = option_names(*command);
      if (std::ranges::find(known, name) == known.end()) return not_known(name, known, help);
      continue;
    }
    const std::vector<const CLI::App*> commands = commands_of(*command);
    if (commands.empty()) continue;  // a photo, a value
    const auto found = std::ranges::find(commands, word, &CLI::App::get_name);
    if (found == commands.end()) {
      std::vector<std::string> known;
      for (const CLI::App* one : commands) known.push_back(one->get_name());
      return not_known(word, known, help);
    }
    command = *found;
    path += " " + word;
  }
  return "";
}

}  // namespace evenbevel::cli
