#include "help.hpp"

#include <algorithm>
#include <regex>
#include <sstream>
#include <utility>
#include <vector>

#include "commands.hpp"
#include "evenbevel/advice.hpp"

namespace evenbevel::cli {
namespace {

constexpr std::size_t kNames = 30;  ///< Columns of an option's names.

std::string in_two_columns(const std::string& names, const std::string& what) {
  const std::string left = "  " + names;
  const std::string indent(kNames, ' ');
  const std::string right = wrapped(what, indent, kTextWidth);
  if (left.size() < kNames) return left + right.substr(left.size()) + '\n';
  return left + '\n' + right + '\n';
}

/// "LENGTH" of an option's type, and what its check allows: "{mm,in}", "15 to 75".
std::pair<std::string, std::string> type_of(const CLI::Option& option) {
  const std::string all = option.get_type_name();
  const std::size_t colon = all.find(':');
  if (colon == std::string::npos) return {all, ""};
  return {all.substr(0, colon), all.substr(colon + 1)};
}

std::string replaced(std::string text, char from, char to) {
  std::ranges::replace(text, from, to);
  return text;
}

std::string listed(const std::set<CLI::Option*>& options) {
  std::vector<std::string> names;
  for (const CLI::Option* option : options) names.push_back(option->get_name());
  std::ranges::sort(names);
  std::string all;
  for (const std::string& name : names) all += (all.empty() ? "" : ", ") + name;
  return all;
}

/// Names and values to the left, sentences of at most 100 columns to the right.
class HelpPage : public CLI::Formatter {
 public:
  std::string make_option(const CLI::Option* option, bool positional) const override {
    return in_two_columns(make_option_name(option, positional) + shown_value(*option),
                          option->get_description() + option_conditions(*option));
  }
  std::string make_subcommand(const CLI::App* command) const override {
    return in_two_columns(command->get_name(), command->get_description());
  }
};

}  // namespace

std::string option_value(const CLI::Option& option) {
  if (option.get_type_size() == 0) return "";
  auto [type, allowed] = type_of(option);
  if (allowed.starts_with('{') && allowed.ends_with('}')) {
    return replaced(allowed.substr(1, allowed.size() - 2), ',', '|');
  }
  if (type == "INT" || type == "UINT" || type == "FLOAT") type = "NUMBER";
  const bool several = option.get_expected_max() == CLI::detail::expected_max_vector_size;
  return type + (several ? " ..." : "");
}

std::string shown_value(const CLI::Option& option) {
  std::string value = option_value(option);
  if (option.get_positional() && (value == "NAME" || value == "NOTE")) return "";
  if (option.get_positional() && value.starts_with("TEXT")) value.erase(0, 4);
  return value.empty() || value.front() == ' ' ? value : ' ' + value;
}

std::string option_conditions(const CLI::Option& option) {
  std::vector<std::string> all;
  if (const std::string allowed = type_of(option).second; !allowed.starts_with('{')) {
    static const std::regex range(R"((?:\w+ in \[)?(-?[\d.e+]+) (?:-|to) (-?[\d.e+]+)\]?)");
    std::smatch limits;
    if (std::regex_match(allowed, limits, range)) {
      all.push_back(limits.str(1) + " to " + limits.str(2));
    }
  }
  if (option.get_required() && !option.get_positional()) all.emplace_back("needed");
  if (!option.get_needs().empty()) all.push_back("with " + listed(option.get_needs()));
  if (!option.get_excludes().empty()) all.push_back("not with " + listed(option.get_excludes()));
  std::string text;
  for (const std::string& one : all) text += (text.empty() ? " (" : "; ") + one;
  if (!text.empty()) text += ')';
  if (!option.get_default_str().empty()) text += " [" + option.get_default_str() + ']';
  return text;
}

std::shared_ptr<CLI::FormatterBase> help_page() { return std::make_shared<HelpPage>(); }

std::string wrapped(const std::string& sentence, const std::string& indent, std::size_t columns) {
  std::istringstream words(sentence);
  std::string text, line;
  for (std::string word; words >> word;) {
    if (!line.empty() && indent.size() + line.size() + 1 + word.size() > columns) {
      text += indent + line + '\n';
      line.clear();
    }
    line += (line.empty() ? "" : " ") + word;
  }
  return text + indent + line;
}

std::string help_cautions() {
  constexpr std::size_t kCautionColumns = 92;
  std::string text = "Cautions:\n";
  for (const std::string& caution : cautions()) {
    text += wrapped(caution, "    ", kCautionColumns).substr(2) + '\n';
  }
  return text;
}

}  // namespace evenbevel::cli
