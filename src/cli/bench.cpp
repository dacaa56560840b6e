#include "evenbevel/bench.hpp"

#include <iostream>
#include <memory>
#include <string>
#include <vector>

#include <unistd.h>

#include "commands.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/printed.hpp"
#include "evenbevel/record.hpp"
#include "options.hpp"
#include "print_scale.hpp"
#include "shop.hpp"
#include "until_stopped.hpp"

namespace evenbevel::cli {
namespace {

constexpr int kDefaultPort = 8460;
constexpr const char* kDefaultFolder = "bench";

struct BenchOptions {
  int port = kDefaultPort;
  bool local = false;
  std::string knife, certificate, key, camera, camera_file, folder = kDefaultFolder, record, units,
                                                            command_line;
};

BenchCard card_of(const Shop& shop, CardKind kind) {
  const std::vector<std::string>& bar = shop.bar_of(kind);
  return {.print = print_scale(bar, printed_bar_mm(kind)),
          .from = bar.empty() ? "default" : "shop.toml"};
}

KnifeFacts facts_of(const Shop& shop, LengthUnit unit) {
  KnifeFacts facts;
  const auto add = [&](KnifeFact fact, const std::string& text) {
    if (const auto mm = length_mm("shop.toml", text, unit)) facts[fact] = *mm;
  };
  add(KnifeFact::tolerance, shop.tolerance);
  add(KnifeFact::side_tolerance, shop.side_tolerance);
  add(KnifeFact::choil_tolerance, shop.choil_tolerance);
  add(KnifeFact::land, shop.land);
  return facts;
}

/// In the shop's unit where that says it exactly.
std::string shops_words(double mm, LengthUnit unit) {
  const std::string words = trimmed_length(mm, unit);
  return parse_length_mm(words, unit) == mm ? words : exact_mm(mm);
}

void say_to_shop(KnifeFact fact, const std::optional<double>& mm, LengthUnit unit) {
  const std::optional<std::filesystem::path> file = shop_file();
  if (!file) {
    throw Error("there is no home folder to keep shop.toml in",
                "set HOME or XDG_CONFIG_HOME, then start the bench again");
  }
  remember_length(*file, std::string(name(fact)), mm ? shops_words(*mm, unit) : "");
}

BenchSettings bench_settings(const BenchOptions& options) {
  const Shop shop = read_shop();
  const bool typed = !options.units.empty();
  BenchSettings settings;
  settings.unit = length_unit(typed ? options.units : shop.units);
  settings.unit_from = typed ? "option" : shop.units.empty() ? "default" : "shop.toml";
  settings.port = static_cast<std::uint16_t>(options.port);
  settings.local = options.local;
  settings.certificate = options.certificate;
  settings.key = options.key;
  settings.folder = options.folder;
  settings.record_file =
      options.record.empty() ? default_record_file() : std::filesystem::path(options.record);
  settings.knife = options.knife;
  settings.of_shop = facts_of(shop, settings.unit);
  settings.say_to_shop = [unit = settings.unit](KnifeFact fact, std::optional<double> mm) {
    say_to_shop(fact, mm, unit);
  };
  settings.edge_card = card_of(shop, CardKind::edge);
  settings.side_card = card_of(shop, CardKind::side);
  settings.heel_card = card_of(shop, CardKind::heel);
  settings.lens_card = card_of(shop, CardKind::lens);
  settings.camera_source = options.camera;
  settings.camera_file = options.camera_file;
  settings.command_line = options.command_line;
  settings.tell = [](const std::string& line) {
    std::cout << clock_time() + "  " + line + "\n" << std::flush;
  };
  return settings;
}

/// The code goes past the terminal's guard (plain_output.hpp): it is made here, and its colours are
/// what makes it readable.
void print_code(const std::string& address) {
  std::cout << std::flush;
  const std::string code = qr_for_terminal(address);
  for (std::size_t at = 0; at < code.size();) {
    const ssize_t written = ::write(STDOUT_FILENO, code.data() + at, code.size() - at);
    if (written <= 0) return;
    at += static_cast<std::size_t>(written);
  }
}

void greet(const BenchServer& server, const BenchOptions& options) {
  const std::vector<std::string> addresses = server.addresses();
  if (!options.local) {
    std::cout << "scan this with the phone's camera, on the same network as this computer:\n\n";
    print_code(addresses.front());
    std::cout << '\n';
  }
  for (const std::string& address : addresses) std::cout << address << '\n';
  std::cout << "Whoever has this address may send photos and write into the record until this "
               "program ends.\n";
  if (options.certificate.empty() && !options.local) {
    std::cout << "Not encrypted: for a network you trust; --certificate and --key encrypt it.\n";
  }
  std::cout << "photos and reports: " << options.folder << "; end with Ctrl-C" << std::endl;
}

int run_bench(const BenchOptions& options) {
  BenchServer server(bench_settings(options));
  const StopSignals stop;
  greet(server, options);
  const std::size_t waiting = server.run(stop.descriptor());
  std::cout << "ended";
  if (waiting > 0) {
    std::cout << "; not measured, in " << options.folder << "/photos: " << waiting
              << (waiting == 1 ? " photo" : " photos");
  }
  std::cout << '\n';
  return 0;
}

std::string bench_footer() {
  return "On the phone: choose what is on the bench, take the photo, read the number. A knife\n"
         "named there or with --knife brings its thickness from the record and may keep what was\n"
         "measured.\n\n"
         "With --camera the page also shows the live picture of a camera over the bench: what it\n"
         "sees, which way to move it, the offset as it stands; held still, it takes the photo.\n\n"
         "A tolerance set there is kept with the knife, without one in shop.toml; the verdict "
         "follows\n"
         "it. What the page does not do: more than two photos of one blade.\n\n"
         "Examples:\n"
         "  evenbevel bench\n"
         "  evenbevel bench --knife heron --folder ~/bench\n"
         "  evenbevel bench --camera 0 --camera-file usb.yml\n"
         "  evenbevel bench --local                      for this computer's own browser only\n"
         "  evenbevel bench --certificate shop.pem --key shop.key\n\n"
         "Exit code: 0 ended by Ctrl-C or SIGTERM, 2 wrong use, 3 it cannot start (port taken, "
         "folder "
         "not\nwritable, certificate not usable).\n\n" +
         help_cautions();
}

}  // namespace

void add_bench(CLI::App& app, int& exit_code, const std::string& command_line) {
  auto options = std::make_shared<BenchOptions>();
  options->command_line = command_line;
  CLI::App* bench = app.add_subcommand(
      "bench", "A page for the phone at the grinder: take a photo there, read the number there");
  bench->footer(bench_footer());
  bench->add_option("--port", options->port, "Where the page is served; 0: any free port")
      ->check(CLI::Range(0, 65535))
      ->capture_default_str();
  bench->add_flag("--local", options->local, "Only this computer can open the page");
  bench->add_option("--knife", options->knife, "The knife on the bench at the start")
      ->type_name("NAME");
  CLI::Option* certificate = bench
                                 ->add_option("--certificate", options->certificate,
                                              "PEM file with the certificate: the page is HTTPS")
                                 ->type_name("FILE");
  CLI::Option* key =
      bench->add_option("--key", options->key, "PEM file with its key")->type_name("FILE");
  certificate->needs(key);
  key->needs(certificate);
  bench->add_option("--folder", options->folder, "For the photos and their reports")
      ->type_name("FOLDER")
      ->capture_default_str();
  bench
      ->add_option("--record", options->record,
                   "The record's file, where it is not the one in your data folder")
      ->type_name("FILE");
  CLI::Option* camera =
      bench
          ->add_option("--camera", options->camera,
                       "A camera on this computer (0, 1, ...) whose live picture the page shows; a "
                       "video file is played over and over")
          ->type_name("SOURCE");
  bench
      ->add_option("--camera-file", options->camera_file,
                   "Of that camera, from 'evenbevel calibrate --camera'; else its lens is guessed")
      ->type_name("FILE")
      ->needs(camera);
  add_units(*bench, options->units, "On the page");
  bench->callback([options, &exit_code] { exit_code = run_bench(*options); });
}

}  // namespace evenbevel::cli
