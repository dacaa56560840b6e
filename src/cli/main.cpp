#include <exception>
#include <iostream>
#include <string>
#include <vector>

#include "commands.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel_version.hpp"
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

int run(int argc, char** argv) {
  CLI::App app{"evenbevel: a camera and a printed card as a gauge for knife grinding"};
  app.set_version_flag("--version", "evenbevel " EVENBEVEL_VERSION);
  app.require_subcommand(1);
  app.footer(
      "Before the first cut:\n"
      "  evenbevel plan --stock 0.125in --land 0.012in --units in\n"
      "A new camera, then every knife:\n"
      "  evenbevel card lens -o lens.pdf              print it, take 12 photos of it\n"
      "  evenbevel calibrate lens-photos/ -o phone.yml\n"
      "  evenbevel card edge -o edge.pdf              print it, cut its slot\n"
      "  evenbevel edge blade.jpg --thickness 3.2mm --camera-file phone.yml -o out/\n"
      "'evenbevel COMMAND --help' says more.\n\n" +
      evenbevel::cli::help_cautions());
  int exit_code = 0;
  evenbevel::cli::add_card(app, exit_code);
  evenbevel::cli::add_calibrate(app, exit_code);
  evenbevel::cli::add_edge(app, exit_code, command_line(argc, argv));
  evenbevel::cli::add_side(app, exit_code, command_line(argc, argv));
  evenbevel::cli::add_choil(app, exit_code, command_line(argc, argv));
  evenbevel::cli::add_plan(app, exit_code, command_line(argc, argv));
  evenbevel::cli::add_study(app, exit_code, command_line(argc, argv));
  evenbevel::cli::add_record(app, exit_code);
  evenbevel::cli::add_watch(app, exit_code, command_line(argc, argv));
  const std::vector<std::string> words(argv + 1, argv + argc);
  if (words.empty()) {
    std::cout << app.help();
    return kWrongUse;
  }
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
