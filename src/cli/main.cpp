#include <exception>
#include <iostream>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "commands.hpp"
#include "completion.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel_version.hpp"
#include "help.hpp"
#include "man_page.hpp"
#include "plain_output.hpp"
#include "unknown_words.hpp"

namespace {

constexpr int kWrongUse = 2;
constexpr int kNotMeasurable = 3;
constexpr int kInternalFault = 4;

/// As typed; arguments with spaces or quotes in single quotes.
std::string command_line(int argc, char** argv) {
  std::string line = "evenbevel";
  for (int i = 1; i < argc; ++i) {
    const std::string argument = argv[i];
    const bool plain = argument.find_first_of(" '\"\\$&;()*?") == std::string::npos;
    line += ' ' + (plain ? argument : '\'' + argument + '\'');
  }
  return line;
}

/// Everything that --help, the manual pages and the completion in a shell tell of.
void describe(CLI::App& app, int& exit_code, const std::string& line) {
  app.formatter(evenbevel::cli::help_page());
  app.set_version_flag("--version", "evenbevel " EVENBEVEL_VERSION);
  app.require_subcommand(1);
  app.footer(
      "Before the first cut:\n"
      "  evenbevel card practice -o practice.pdf      print it, take one photo of it\n"
      "  evenbevel edge practice.jpg --practice       can printer, phone and light be trusted?\n"
      "  evenbevel plan --stock 0.125in --land 0.012in --units in\n"
      "A new camera, then every knife:\n"
      "  evenbevel card lens -o lens.pdf              print it, take 12 photos of it\n"
      "  evenbevel calibrate lens-photos/ -o phone.yml\n"
      "  evenbevel card edge -o edge.pdf              print it, cut its slot\n"
      "  evenbevel edge blade.jpg --thickness 3.2mm --knife heron\n"
      "  evenbevel edge later.jpg --knife heron       camera and thickness are known by then\n"
      "What holds for the whole shop (units, paper, tolerances, land, printed bars) is said in\n"
      "shop.toml, in $XDG_CONFIG_HOME or ~/.config, below evenbevel/.\n"
      "'evenbevel COMMAND --help' says more.\n\n" +
      evenbevel::cli::help_cautions());
  evenbevel::cli::add_card(app, exit_code);
  evenbevel::cli::add_calibrate(app, exit_code);
  evenbevel::cli::add_edge(app, exit_code, line);
  evenbevel::cli::add_side(app, exit_code, line);
  evenbevel::cli::add_choil(app, exit_code, line);
  evenbevel::cli::add_finish(app, exit_code, line);
  evenbevel::cli::add_plan(app, exit_code, line);
  evenbevel::cli::add_study(app, exit_code, line);
  evenbevel::cli::add_record(app, exit_code);
  evenbevel::cli::add_watch(app, exit_code, line);
  evenbevel::cli::add_bench(app, exit_code, line);
}

/// What packages and shells ask for, and no --help lists: 'man-pages FOLDER' writes the manual's
/// pages, 'candidates -- WORD...' prints what may stand in the last word's place.
std::optional<int> answered_unlisted(const CLI::App& app, std::span<const std::string> words) {
  if (words.size() == 2 && words[0] == "man-pages") {
    evenbevel::cli::write_man_pages(app, words[1]);
    return 0;
  }
  if (words.size() >= 2 && words[0] == "candidates" && words[1] == "--") {
    std::cout << candidate_lines(evenbevel::cli::candidates(app, words.subspan(2)));
    return 0;
  }
  return {};
}

int run(int argc, char** argv) {
  CLI::App app{"evenbevel: a camera and a printed card as a gauge for knife grinding", "evenbevel"};
  int exit_code = 0;
  describe(app, exit_code, command_line(argc, argv));
  const std::vector<std::string> words(argv + 1, argv + argc);
  if (words.empty()) {
    std::cout << app.help();
    return kWrongUse;
  }
  if (const std::optional<int> code = answered_unlisted(app, words)) return *code;
  if (const std::string unknown = evenbevel::cli::unknown_word(app, words); !unknown.empty()) {
    std::cerr << "evenbevel: " << unknown << '\n';
    return kWrongUse;
  }
  try {
    app.parse(argc, argv);
    return exit_code;
  } catch (const CLI::ParseError& e) {
    return app.exit(e) == 0 ? 0 : kWrongUse;
  }
}

}  // namespace

int main(int argc, char** argv) {
  const evenbevel::cli::PlainOutput plain_out(std::cout), plain_err(std::cerr);
  try {
    return run(argc, argv);
  } catch (const evenbevel::Error& e) {
    std::cerr << "evenbevel: " << e.what() << "\n  do: " << e.do_next() << '\n';
    return kNotMeasurable;
  } catch (const std::exception& e) {
    std::cerr << "evenbevel: internal fault: " << e.what() << '\n';
    return kInternalFault;
  }
}
