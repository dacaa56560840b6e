#include <cmath>
#include <iostream>
#include <memory>
#include <string>
#include <vector>

#include "commands.hpp"
#include "evenbevel/error.hpp"
#include "options.hpp"
#include "print_scale.hpp"
#include "record_entry.hpp"
#include "settle.hpp"

namespace evenbevel::cli {
namespace {

struct FinishOptions : CommonOptions {
  std::string face;
  std::vector<std::string> photos, left, right, leave_out;
  std::string thickness, tip_thickness;
  std::optional<double> most_per_cm2;
  std::optional<int> grit, before;
  RecordChoice record;
};

FacePart face_part(const std::string& text, LengthUnit unit) {
  const std::vector<std::string> parts = CLI::detail::split(text, ',');
  std::vector<double> mm;
  for (const std::string& part : parts) {
    const std::optional<double> value = parse_length_mm(part, unit);
    if (value) mm.push_back(*value);
  }
  if (parts.size() != 4 || mm.size() != 4 || mm[0] >= mm[1] || mm[2] >= mm[3]) {
    throw CLI::ValidationError("--leave-out",
                               "'" + text +
                                   "' is no part of a face: write from x, to x, from "
                                   "and to height above the edge, for example "
                                   "-20mm,-8mm,5mm,15mm");
  }
  return {mm[0], mm[1], mm[2], mm[3]};
}

FinishSettings finish_settings(const FinishOptions& options) {
  const LengthUnit unit = options.unit();
  FinishSettings settings;
  settings.thickness_mm = length_mm("--thickness", options.thickness, unit, kStockRange);
  settings.tip_thickness_mm = length_mm("--tip-thickness", options.tip_thickness, unit);
  settings.print = print_scale(options.printed_bar, kBar_mm, unit);
  for (const std::string& part : options.leave_out) {
    settings.left_out.push_back(face_part(part, unit));
  }
  settings.grit = options.grit, settings.grit_before = options.before;
  return settings;
}

void add_photos(Face face, const std::vector<std::string>& paths, const std::string& camera_file,
                std::vector<FaceToMeasure>& all) {
  for (const std::string& path : paths) {
    FaceToMeasure& one = all.emplace_back(FaceToMeasure{face, read_photo(path), {}});
    one.camera = choose_camera(one.photo, camera_file);
  }
}

void sort_photos(FinishOptions& options) {
  if (!options.photos.empty()) {
    if (options.face.empty()) {
      throw CLI::ValidationError("--face", "say which face the photos show: --face left or right");
    }
    std::vector<std::string>& of = options.face == "left" ? options.left : options.right;
    of.insert(of.end(), options.photos.begin(), options.photos.end());
  }
  if (options.left.empty() && options.right.empty()) {
    throw CLI::ValidationError("finish",
                               "give --face left PHOTO..., or --left and --right PHOTO...");
  }
}

void settle(FinishOptions& options, const KnifeFacts& knife) {
  const Shop shop = read_shop();
  settle_length(options, "thickness", options.thickness, fact_of(knife, KnifeFact::thickness));
  settle_units(options, shop);
  settle_printed_bar(options, shop, CardKind::side);
}

int run_finish(const FinishOptions& options) {
  const FinishSettings settings = finish_settings(options);
  ReportSettings report = report_settings(options);
  report.tolerance_per_cm2 = options.most_per_cm2;
  std::vector<FaceToMeasure> photos;
  add_photos(Face::left, options.left, options.camera_file, photos);
  add_photos(Face::right, options.right, options.camera_file, photos);
  const Written measured = measure_finish(photos, settings, report, options.folder);
  std::cout << statement_text(measured.statement, report.unit);
  if (options.before) {
    std::cout << "counted are scratches as " << *options.before << " grit may have left them";
    if (options.grit) std::cout << " under " << *options.grit << " grit";
    std::cout << '\n';
  }
  show_files(options);
  return exit_code_of(measured.verdict);
}

std::string finish_footer() {
  return "Lay the blade flat on the side card and let it lie. One small lamp, low, about half a\n"
         "metre out from the card: a photo each with the lamp in line with the card's ticks 1 to "
         "4\n"
         "(left, upper left, above, upper right). A scratch shines where the lamp stands across "
         "it.\n\n"
         "Examples:\n"
         "  evenbevel finish --face left a.jpg b.jpg c.jpg d.jpg --thickness 3.2mm\n"
         "  evenbevel finish --left a.jpg b.jpg --right c.jpg d.jpg --thickness 3.2mm\n"
         "  evenbevel finish --face left a.jpg b.jpg c.jpg d.jpg --thickness 3.2mm --grit 220 \\\n"
         "      --before 120 --tolerance 0.2\n\n" +
         help_exit_codes() + "\n" + help_cautions();
}

void add_finish_options(CLI::App& finish, FinishOptions& options) {
  finish.add_option("photo", options.photos, "Photos of the face, the lamp moved between them")
      ->type_name("PHOTO");
  finish.add_option("--face", options.face, "Which face they show")
      ->check(CLI::IsMember({"left", "right"}));
  finish.add_option("--left", options.left, "Photos of the left face, for both in one report")
      ->type_name("PHOTO");
  finish.add_option("--right", options.right, "Photos of the right face")->type_name("PHOTO");
  finish
      .add_option("-o,--output", options.folder,
                  "Folder for annotated.jpg, report.json, stations.csv and report.html [called as "
                  "the first photo]")
      ->type_name("FOLDER");
  finish.add_flag("--open", options.open, "Show the report in the browser");
  finish
      .add_option("--camera-file", options.camera_file,
                  "From 'evenbevel calibrate' [the one that the photo's EXIF finds]")
      ->type_name("FILE");
  add_printed_bar(finish, options.printed_bar);
  finish
      .add_option("--tolerance", options.most_per_cm2,
                  "Most scratches a square centimetre: within, outside or unresolved is said")
      ->check(number_from(0.0, 1000.0))
      ->type_name("NUMBER");
  add_units(finish, options.units, "For output and bare numbers");
  finish
      .add_option("--thickness", options.thickness,
                  "Stock thickness, by micrometer (3.2mm, 0.125in)")
      ->type_name("LENGTH");
  finish
      .add_option("--tip-thickness", options.tip_thickness,
                  "Thickness at the tip, when the blade has a distal taper")
      ->type_name("LENGTH");
  finish.add_option("--grit", options.grit, "The grit that the face was sanded with last")
      ->check(CLI::Range(16, 20000))
      ->type_name("NUMBER");
  finish.add_option("--before", options.before, "The coarser grit before it")
      ->check(CLI::Range(16, 20000))
      ->type_name("NUMBER");
  finish
      .add_option("--leave-out", options.leave_out,
                  "A part not to look at, as a mark: from x, to x, from height, to height")
      ->type_name("X,X,Z,Z");
  add_record_options(finish, options.record);
}

}  // namespace

void add_finish(CLI::App& app, int& exit_code, const std::string& command_line) {
  auto options = std::make_shared<FinishOptions>();
  options->command_line = command_line;
  CLI::App* finish = app.add_subcommand(
      "finish", "Count the scratches left from the coarser grit, in raking light");
  finish->footer(finish_footer());
  add_finish_options(*finish, *options);
  finish->callback([options, &exit_code] {
    try {
      sort_photos(*options);
      add_default_folder(*options,
                         options->left.empty() ? options->right.front() : options->left.front());
      require_knife(options->record);
      const KnifeFacts known = known_facts(options->record);
      settle(*options, known);
      exit_code = measure_and_record(options->record, options->folder,
                                     [&] { return run_finish(*options); });
    } catch (const Error& e) {
      throw in_unit(e, options->unit());
    }
  });
}

}  // namespace evenbevel::cli
