#include <algorithm>
#include <iostream>
#include <memory>
#include <string>
#include <vector>

#include "commands.hpp"
#include "evenbevel/choil_report.hpp"
#include "evenbevel/choil_view.hpp"
#include "evenbevel/error.hpp"
#include "options.hpp"
#include "print_scale.hpp"
#include "record_entry.hpp"

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
  settings.thickness_mm = length_mm("--thickness", options.thickness, unit);
  settings.print = print_scale(options.printed_bar, kHeelBar_mm, unit);
  return settings;
}

int run_choil(const ChoilOptions& options) {
  const ChoilSettings settings = choil_settings(options);
  const ReportSettings report = report_settings(options);
  const Photo photo = read_photo(options.photo);
  const CameraModel camera = camera_for(photo, options.camera_file);
  ChoilResult result = choil_view(photo, camera, settings);
  result.warnings.insert(result.warnings.end(), photo.warnings.begin(), photo.warnings.end());
  write_choil_report(result, settings, photo, camera, report, options.folder);
  std::cout << statement_text(choil_statement(result, settings, photo, camera, report),
                              report.unit);
  print_files(options.folder);
  return exit_code_of(choil_verdict(result, report));
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
  choil->add_option("--thickness", options->thickness,
                    "Stock thickness by micrometer, to check the scale where flats are seen");
  add_record_options(*choil, options->record);
  choil->callback([options, &exit_code] {
    try {
      add_default_folder(*options, options->photo);
      exit_code =
          measure_and_record(options->record, options->folder, [&] { return run_choil(*options); });
    } catch (const Error& e) {
      throw in_unit(e, options->unit());
    }
  });
}

}  // namespace evenbevel::cli
