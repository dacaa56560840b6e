#include "man_page.hpp"

#include <cctype>
#include <fstream>
#include <sstream>
#include <vector>

#include "commands.hpp"
#include "evenbevel/advice.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel_version.hpp"
#include "help.hpp"

namespace evenbevel::cli {
namespace {

namespace fs = std::filesystem;

std::vector<const CLI::App*> commands_below(const CLI::App& command) {
  return command.get_subcommands([](const CLI::App*) { return true; });
}

/// "evenbevel record add", joined by what is given.
std::string path_of(const CLI::App& command, const std::string& between) {
  const CLI::App* above = command.get_parent();
  return (above == nullptr ? "" : path_of(*above, between) + between) + command.get_name();
}

/// As it is typed: nothing of it is a request, a ligature or a typographic quote.
std::string plain_roff(const std::string& text) {
  std::string out;
  for (const char c : text) {
    switch (c) {
      case '\\':
        out += "\\e";
        break;
      case '-':
        out += "\\-";
        break;
      case '\'':
        out += "\\(aq";
        break;
      case '`':
        out += "\\(ga";
        break;
      case '^':
        out += "\\(ha";
        break;
      case '~':
        out += "\\(ti";
        break;
      default:
        out += c;
    }
  }
  return out.starts_with('.') ? "\\&" + out : out;
}

std::string bold(const std::string& text) { return "\\fB" + plain_roff(text) + "\\fR"; }
std::string italic(const std::string& text) { return "\\fI" + plain_roff(text) + "\\fR"; }

std::string section(const std::string& title, const std::string& body) {
  return body.empty() ? "" : ".SH " + title + '\n' + body;
}

/// A paragraph of a help text: its indented lines stay as they are, the others are filled.
std::string paragraph(const std::vector<std::string>& lines) {
  std::string out = ".PP\n";
  bool verbatim = false;
  for (const std::string& line : lines) {
    const bool indented = line.starts_with("  ");
    if (indented != verbatim) out += indented ? ".RS 4\n.nf\n" : ".fi\n.RE\n";
    verbatim = indented;
    out += plain_roff(indented ? line.substr(2) : line) + '\n';
  }
  return out + (verbatim ? ".fi\n.RE\n" : "");
}

/// What stands below the options in a help text, by the sections of a manual page.
struct Footer {
  std::string description, examples, exit_status;
};

void put_paragraph(std::vector<std::string> lines, Footer& footer) {
  if (lines.empty()) return;
  const std::string exit_code = "Exit code: ";
  if (lines.front() == "Examples:") {
    footer.examples += paragraph({lines.begin() + 1, lines.end()});
    return;
  }
  for (std::size_t i = 0; i < lines.size(); ++i) {
    const std::size_t at = lines[i].find(exit_code);
    if (at == std::string::npos) continue;
    std::vector<std::string> codes(lines.begin() + static_cast<std::ptrdiff_t>(i), lines.end());
    codes.front().erase(0, at + exit_code.size());
    footer.exit_status += paragraph(codes);
    lines.resize(i + 1);
    lines.back().resize(at);
    if (lines.back().empty()) lines.pop_back();
    break;
  }
  if (!lines.empty()) footer.description += paragraph(lines);
}

/// Without the cautions, which every page has by itself, and without what is the command's above.
Footer footer_of(const CLI::App& command) {
  std::string text = command.get_footer();
  const CLI::App* above = command.get_parent();
  if (above != nullptr && above->get_footer() == text) return {};
  if (const std::size_t at = text.find(help_cautions()); at != std::string::npos) text.resize(at);
  Footer footer;
  std::vector<std::string> lines;
  std::istringstream stream(text);
  for (std::string line; std::getline(stream, line);) {
    if (!line.empty()) {
      lines.push_back(line);
      continue;
    }
    put_paragraph(std::move(lines), footer);
    lines.clear();
  }
  put_paragraph(std::move(lines), footer);
  return footer;
}

/// "-o, --output FOLDER" or an argument's name.
std::string term(const CLI::Option& option) {
  const std::string value = shown_value(option);
  const std::string shown = value.empty() ? "" : ' ' + italic(value.substr(1));
  if (option.get_positional()) return italic(option.get_name(true)) + shown;
  std::string names;
  const auto add = [&](const std::string& name) {
    names += (names.empty() ? "" : ", ") + bold(name);
  };
  for (const std::string& name : option.get_snames()) add("-" + name);
  for (const std::string& name : option.get_lnames()) add("--" + name);
  return names + shown;
}

std::string described(const CLI::App& command, bool positional) {
  std::string out;
  for (const CLI::Option* option : command.get_options()) {
    if (option->get_positional() != positional || option->get_group().empty()) continue;
    out += ".TP\n" + term(*option) + '\n' +
           plain_roff(option->get_description() + option_conditions(*option)) + '\n';
  }
  return out;
}

std::string synopsis(const CLI::App& command) {
  std::string line = bold(path_of(command, " ")) + " [" + italic("OPTIONS") + ']';
  for (const CLI::Option* option : command.get_options()) {
    if (!option->get_positional()) continue;
    const bool several = option->get_items_expected_max() > 1;
    const std::string name = italic(option->get_name(true)) + (several ? " ..." : "");
    line += option->get_required() ? ' ' + name : " [" + name + ']';
  }
  if (!commands_below(command).empty()) line += ' ' + italic("COMMAND");
  return line + '\n';
}

std::string commands_listed(const CLI::App& command) {
  std::string out;
  for (const CLI::App* one : commands_below(command)) {
    out +=
        ".TP\n" + bold(man_page_name(*one)) + "(1)\n" + plain_roff(one->get_description()) + '\n';
  }
  return out;
}

std::string cautions_listed() {
  std::string out;
  for (const std::string& caution : cautions()) {
    out += ".IP \\(bu 2\n" + plain_roff(caution) + '\n';
  }
  return out;
}

/// The program says its own name before what it is.
std::string what_it_is(const CLI::App& command) {
  const std::string said = command.get_description(), own = command.get_name() + ": ";
  return said.starts_with(own) ? said.substr(own.size()) : said;
}

char capital(char c) { return static_cast<char>(std::toupper(static_cast<unsigned char>(c))); }

std::string as_sentence(std::string text) {
  if (!text.empty()) text[0] = capital(text[0]);
  return text + '.';
}

/// The page above and the main one.
std::string see_also(const CLI::App& command) {
  const CLI::App* above = command.get_parent();
  if (above == nullptr) return "";
  std::string out;
  for (; above != nullptr; above = above->get_parent()) {
    out += ".BR " + plain_roff(man_page_name(*above)) + " (1)" +
           (above->get_parent() != nullptr ? "," : "") + '\n';
  }
  return out;
}

void write_pages_below(const CLI::App& command, const fs::path& folder) {
  const fs::path path = folder / (man_page_name(command) + ".1");
  std::ofstream file(path, std::ios::binary);
  file << man_page(command);
  if (!file.flush()) {
    throw Error(path.string() + " cannot be written", "give a folder that you may write to");
  }
  for (const CLI::App* one : commands_below(command)) write_pages_below(*one, folder);
}

}  // namespace

std::string man_page_name(const CLI::App& command) { return path_of(command, "-"); }

std::string man_page(const CLI::App& command) {
  const Footer footer = footer_of(command);
  const std::string name = man_page_name(command), what = what_it_is(command);
  std::string title = name;
  for (char& c : title) c = capital(c);
  return ".TH " + plain_roff(title) + " 1 \"\" \"evenbevel " EVENBEVEL_VERSION "\"\n.nh\n.ad l\n" +
         section("NAME", plain_roff(name) + " \\- " + plain_roff(what) + '\n') +
         section("SYNOPSIS", synopsis(command)) +
         section("DESCRIPTION", plain_roff(as_sentence(what)) + '\n' + footer.description) +
         section("COMMANDS", commands_listed(command)) +
         section("ARGUMENTS", described(command, true)) +
         section("OPTIONS", described(command, false)) +
         section("EXIT STATUS", footer.exit_status) + section("EXAMPLES", footer.examples) +
         section("CAUTIONS", cautions_listed()) + section("SEE ALSO", see_also(command));
}

void write_man_pages(const CLI::App& program, const fs::path& folder) {
  std::error_code fault;
  fs::create_directories(folder, fault);
  if (fault) {
    throw Error(folder.string() + " cannot be made: " + fault.message(),
                "give a folder that you may write to");
  }
  write_pages_below(program, folder);
}

}  // namespace evenbevel::cli
