#include <algorithm>
#include <iostream>
#include <memory>
#include <string>
#include <vector>

#include "commands.hpp"
#include "evenbevel/error.hpp"
#include "options.hpp"
#include "print_scale.hpp"
#include "progress.hpp"
#include "record_entry.hpp"
#include "settle.hpp"

namespace evenbevel::cli {
namespace {

struct ChoilOptions : CommonOptions {
  std::string photo;
  std::vector<std::string> at, angle_range;
  std::string thickness;
  RecordChoice record;
};

void add_depths(const ChoilOptions& options, std::vector<double>& at_mm) {
  for (const std::string& depth : options.at) {
    at_mm.push_back(*length_mm("--at", depth, options.unit()));
  }
  std::sort(at_mm.begin(), at_mm.end());
  const auto alike = [](double a, double b) { return b - a < 1e-6; };
  at_mm.erase(std::unique(at_mm.begin(), at_mm.end(), alike), at_mm.end());
}

ChoilSettings choil_settings(const ChoilOptions& options) {
  const LengthUnit unit = options.unit();
  ChoilSettings settings;
  add_depths(options, settings.at_mm);
  if (!options.angle_range.empty()) {
    settings.angle_from_mm = *length_mm("--angle-range", options.angle_range.front(), unit);
    settings.angle_to_mm = length_mm("--angle-range", options.angle_range.back(), unit);
    if (*settings.angle_to_mm <= settings.angle_from_mm) {
      throw CLI::ValidationError("--angle-range", "the second depth must be the larger one");
    }
  }
  settings.thickness_mm = length_mm("--thickness", options.thickness, unit, kStockRange);
  settings.print = print_scale(options.printed_bar, kHeelBar_mm, unit);
  return settings;
}

/// The knife's thickness is not brought: here it would only be checked, and a heel may be ground
/// thinner.
void settle(ChoilOptions& options, const KnifeFacts& knife) {
  const Shop shop = read_shop();
  settle_length(options, "thickness", options.thickness, std::nullopt);
  settle_length(options, "tolerance", options.tolerance, fact_of(knife, KnifeFact::choil_tolerance),
                shop.choil_tolerance);
  settle_units(options, shop);
  settle_printed_bar(options, shop, CardKind::heel);
}

int run_choil(const ChoilOptions& options) {
  const ChoilSettings settings = choil_settings(options);
  const ReportSettings report = report_settings(options);
  Photo photo = read_shown(options.photo);
  const ChosenCamera camera = choose_camera(photo, options.camera_file);
  const Written measured = drawn_when_refused(options, photo, CardKind::heel, options.folder, [&] {
    return measure_section(photo, camera, settings, report, options.folder);
  });
  std::cout << statement_text(measured.statement, report.unit);
  show_files(options);
  return exit_code_of(measured.verdict);
}

std::string footer() {
  return "Left and right are the knife's: edge down, tip pointing away from you.\n\n"
         "Examples:\n"
         "  evenbevel choil heel.jpg --camera-file phone.yml -o out/\n"
         "  evenbevel choil heel.jpg --at 3mm 4mm --angle-range 1mm 15mm\n"
         "  evenbevel choil heel.jpg --thickness 0.125in --tolerance 2thou --units in\n"
         "  evenbevel choil heel.jpg -o out/ --knife \"paring 3\" --at-stage \"120 grit\"\n\n" +
         help_exit_codes() + "\n" + help_cautions();
}

}  // namespace

void add_choil(CLI::App& app, int& exit_code, const std::string& command_line) {
  auto options = std::make_shared<ChoilOptions>();
  options->command_line = command_line;
  CLI::App* choil = app.add_subcommand(
      "choil", "Measure the cross-section at the heel: thickness, angles, symmetry, shape");
  choil->footer(footer());
  choil->add_option("photo", options->photo, "Photo with the heel card around the blade")
      ->required();
  add_common_options(*choil, *options, "Largest asymmetry allowed");
  choil
      ->add_option("--at", options->at,
                   "More depths behind the edge to state the thickness at; write them after PHOTO")
      ->type_name("LENGTH ...");
  choil
      ->add_option("--angle-range", options->angle_range,
                   "Depths between which angles and shapes are taken [1 mm to the bevel's end]")
      ->expected(2)
      ->type_name("FROM TO");
  choil
      ->add_option("--thickness", options->thickness,
                   "Stock thickness by micrometer, to check the scale where flats are seen")
      ->type_name("LENGTH");
  add_record_options(*choil, options->record);
  choil->callback([options, &exit_code] {
    try {
      add_default_folder(*options, options->photo);
      require_knife(options->record);
      const KnifeFacts known = known_facts(options->record);
      settle(*options, known);
      exit_code =
          measure_and_record(options->record, options->folder, [&] { return run_choil(*options); });
      KnifeFacts typed;
      add_typed(typed, KnifeFact::thickness, *options, options->thickness);
      add_typed(typed, KnifeFact::choil_tolerance, *options, options->tolerance, "tolerance");
      keep_said(options->record, known, typed, options->unit());
    } catch (const Error& e) {
      throw in_unit(e, options->unit());
    }
  });
}

}  // namespace evenbevel::cli
