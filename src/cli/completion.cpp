#include "completion.hpp"

#include <algorithm>
#include <set>
#include <sstream>

#include "help.hpp"

namespace evenbevel::cli {
namespace {

std::vector<std::string> split(const std::string& text, char at) {
  std::vector<std::string> parts;
  std::istringstream stream(text);
  for (std::string part; std::getline(stream, part, at);) parts.push_back(part);
  return parts;
}

std::vector<const CLI::App*> commands_in(const CLI::App& command) {
  return command.get_subcommands([](const CLI::App*) { return true; });
}

/// Null: there is none of that name.
const CLI::App* command_called(const std::string& name, const CLI::App& above) {
  const std::vector<const CLI::App*> all = commands_in(above);
  const auto found = std::ranges::find(all, name, &CLI::App::get_name);
  return found == all.end() ? nullptr : *found;
}

/// What has been typed before the word in question.
struct Line {
  const CLI::App* command = nullptr;
  const CLI::Option* open = nullptr;  ///< The option whose values come now.
  int values = 0;                     ///< Of the open option, given already.
  int arguments = 0;                  ///< Words that belong to no option.
  std::set<const CLI::Option*> given{};
  bool only_arguments = false;  ///< After "--".
};

bool needs_value(const Line& line) {
  return line.open != nullptr && line.values < line.open->get_items_expected_min();
}
bool may_have_value(const Line& line) {
  return line.open != nullptr && line.values < line.open->get_items_expected_max();
}

void take_option(const std::string& word, Line& line) {
  const std::size_t equals = word.find('=');
  line.open = line.command->get_option_no_throw(word.substr(0, equals));
  line.values = 0;
  if (line.open == nullptr) return;
  line.given.insert(line.open);
  if (equals != std::string::npos) ++line.values;
}

void take(const std::string& word, Line& line) {
  const bool option = !line.only_arguments && word.size() > 1 && word[0] == '-' &&
                      line.command->get_option_no_throw(word.substr(0, word.find('='))) != nullptr;
  if (needs_value(line) || (!option && word != "--" && may_have_value(line))) {
    ++line.values;
    return;
  }
  line.open = nullptr;
  if (word == "--") {
    line.only_arguments = true;
  } else if (option) {
    take_option(word, line);
  } else if (const CLI::App* below = command_called(word, *line.command)) {
    line.command = below;
    line.arguments = 0;
    line.given.clear();
  } else {
    ++line.arguments;
  }
}

/// Without the "=" that bash takes for words.
std::vector<std::string> joined_values(std::span<const std::string> words) {
  std::vector<std::string> out;
  for (std::size_t i = 0; i < words.size(); ++i) {
    const bool equals = words[i] == "=" && i > 0 && words[i - 1].starts_with("--");
    if (!equals) out.push_back(words[i]);
    if (equals && i + 1 == words.size()) out.emplace_back();
  }
  return out;
}

/// Of an option or argument: its choices, or files, or nothing that could be known.
void add_values(const CLI::Option& option, Candidates& out) {
  std::string value = option_value(option);
  value.resize(std::min(value.size(), value.find(' ')));
  if (value.find('|') != std::string::npos) {
    for (const std::string& choice : split(value, '|')) out.words.push_back({choice, ""});
    return;
  }
  // An argument that says nothing of its value is a photo, a report or a folder.
  const bool unsaid = option.get_positional() && (value.empty() || value == "TEXT");
  out.files = out.files || unsaid || value == "FILE" || value == "PHOTO" || value == "SOURCE";
  out.folders = out.folders || value == "FOLDER";
}

bool goes_with(const CLI::Option& option, const std::set<const CLI::Option*>& given) {
  return std::ranges::none_of(given, [&](const CLI::Option* one) {
    const std::set<CLI::Option*> excluded = one->get_excludes();
    const auto same = [&](const CLI::Option* other) { return other == &option; };
    return one == &option || std::ranges::any_of(excluded, same);
  });
}

void add_options(const Line& line, Candidates& out) {
  for (const CLI::Option* option : line.command->get_options()) {
    if (option->get_group().empty() || !goes_with(*option, line.given)) continue;
    for (const std::string& name : option->get_snames()) {
      out.words.push_back({"-" + name, option->get_description()});
    }
    for (const std::string& name : option->get_lnames()) {
      out.words.push_back({"--" + name, option->get_description()});
    }
  }
}

/// The argument whose turn it is.
void add_argument(const Line& line, Candidates& out) {
  int before = line.arguments;
  for (const CLI::Option* option : line.command->get_options()) {
    if (!option->get_positional()) continue;
    if (before < option->get_items_expected_max()) return add_values(*option, out);
    before -= option->get_items_expected_max();
  }
}

void add_commands_and_arguments(const Line& line, Candidates& out) {
  for (const CLI::App* one : commands_in(*line.command)) {
    if (line.arguments == 0) out.words.push_back({one->get_name(), one->get_description()});
  }
  add_argument(line, out);
  if (out.words.empty() && !out.files && !out.folders) add_options(line, out);
}

Candidates beginning_with(const std::string& typed, Candidates all) {
  std::erase_if(all.words, [&](const Candidate& one) { return !one.word.starts_with(typed); });
  return all;
}

/// "--units=m": the choices of the value, each after "--units=".
Candidates joined_to_option(const std::string& typed, Line& line) {
  Candidates out;
  take_option(typed, line);
  if (line.open != nullptr) add_values(*line.open, out);
  const std::string option = typed.substr(0, typed.find('=') + 1);
  for (Candidate& one : out.words) one.word.insert(0, option);
  return beginning_with(typed, out);
}

}  // namespace

Candidates candidates(const CLI::App& program, std::span<const std::string> words) {
  std::vector<std::string> typed = joined_values(words);
  if (typed.empty()) typed.emplace_back();
  const std::string last = typed.back();
  typed.pop_back();
  Line line{.command = &program};
  for (const std::string& word : typed) take(word, line);

  Candidates out;
  if (needs_value(line)) {
    add_values(*line.open, out);
  } else if (last.starts_with('-') && !line.only_arguments) {
    if (last.find('=') != std::string::npos) return joined_to_option(last, line);
    add_options(line, out);
  } else {
    if (may_have_value(line)) add_values(*line.open, out);
    add_commands_and_arguments(line, out);
  }
  return beginning_with(last, out);
}

std::string candidate_lines(const Candidates& candidates) {
  std::string lines;
  for (const auto& [word, what] : candidates.words) lines += word + '\t' + what + '\n';
  if (candidates.files) lines += ":files\n";
  if (candidates.folders) lines += ":folders\n";
  return lines;
}

}  // namespace evenbevel::cli
