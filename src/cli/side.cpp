#include <algorithm>
#include <cmath>
#include <future>
#include <iostream>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "commands.hpp"
#include "evenbevel/edge_report_file.hpp"
#include "evenbevel/error.hpp"
#include "options.hpp"
#include "print_scale.hpp"
#include "record_entry.hpp"
#include "settle.hpp"

namespace evenbevel::cli {
namespace {

struct SideOptions : CommonOptions {
  std::string left, right;
  std::string thickness, tip_thickness, land, edge_report;
  std::string step = "1mm";
  std::vector<std::string> at, at_from_tip, mean_over;
  RecordChoice record;
};

Error contradiction(const SideOptions& options, const std::string& what, double typed_mm,
                    double reported_mm) {
  const auto said = [](double mm) {
    return in_units([&](LengthUnit unit) { return format_length(mm, unit); });
  };
  return {"the edge report says that the " + what + " is " + said(reported_mm) + ", --" + what +
              " says " + said(typed_mm),
          "check that " + options.edge_report +
              " is of this blade and as it is now; then leave out --" + what};
}

/// Two readings of one length that are further apart than either allows.
bool contradict(double typed_mm, const Measured& reported_mm) {
  constexpr double kRounding_mm = 0.015;  // two readings of a micrometer, and how they are typed
  return std::abs(typed_mm - reported_mm.value) > std::max(kRounding_mm, U95(reported_mm));
}

void take_edge_report(const SideOptions& options, SideSettings& settings) {
  const EdgeReportValues edge = read_edge_report(options.edge_report);
  const Measured thickness_mm{edge.thickness_mm, edge.thickness_u_mm};
  if (!options.thickness.empty() && contradict(settings.thickness_mm, thickness_mm)) {
    throw contradiction(options, "thickness", settings.thickness_mm, edge.thickness_mm);
  }
  if (settings.land_mm && contradict(*settings.land_mm, edge.land_width_mm)) {
    throw contradiction(options, "land", *settings.land_mm, edge.land_width_mm.value);
  }
  if (options.thickness.empty()) {
    settings.thickness_mm = edge.thickness_mm;
    if (edge.thickness_u_mm > 0.0) settings.thickness_u_mm = edge.thickness_u_mm;
  }
  settings.land_mm = edge.land_width_mm.value;
  if (edge.centreline_offset_mm) settings.centreline_offset_mm = edge.centreline_offset_mm->value;
}

/// "2,5mm" is 2.5 mm to some and two places to others; "20mm,60mm" is not to be mistaken.
void refuse_one_or_two(const std::string& option, const std::string& list) {
  const std::size_t comma = list.find(',');
  if (comma == std::string::npos || !parse_length_mm(list, LengthUnit::mm)) return;
  std::string point = list;
  point[comma] = '.';
  throw CLI::ValidationError(
      option, "the comma in '" + list + "' may be a decimal comma or part two places: write " +
                  point + " for the one, or each place with its unit, as 20mm,60mm, for two");
}

void take_places(const std::string& option, const std::vector<std::string>& typed, bool from_tip,
                 LengthUnit unit, SideSettings& settings) {
  for (const std::string& list : typed) {
    refuse_one_or_two(option, list);
    for (const std::string& text : CLI::detail::split(list, ',')) {
      settings.places.push_back({length_mm(option, text, unit).value_or(0.0), from_tip});
    }
  }
}

std::optional<BladeStretch> mean_over(const std::vector<std::string>& typed, LengthUnit unit) {
  if (typed.empty()) return std::nullopt;
  const BladeStretch stretch{length_mm("--mean-over", typed.front(), unit).value_or(0.0),
                             length_mm("--mean-over", typed.back(), unit).value_or(0.0)};
  if (typed.size() != 2 || stretch.from_mm >= stretch.to_mm) {
    throw CLI::ValidationError("--mean-over",
                               "write where it begins and where it ends, for "
                               "example 10mm,80mm");
  }
  return stretch;
}

SideSettings side_settings(const SideOptions& options) {
  const LengthUnit unit = options.unit();
  if (options.thickness.empty() && options.edge_report.empty()) {
    ask_for_thickness(options, options.record.knife);
  }
  SideSettings settings;
  settings.thickness_mm =
      length_mm("--thickness", options.thickness, unit, kStockRange).value_or(0.0);
  settings.tip_thickness_mm = length_mm("--tip-thickness", options.tip_thickness, unit);
  settings.land_mm = length_mm("--land", options.land, unit);
  settings.step_mm = *length_mm("--step", options.step, unit, kStepRange);
  take_places("--at", options.at, false, unit, settings);
  take_places("--at-from-tip", options.at_from_tip, true, unit, settings);
  settings.mean_over = mean_over(options.mean_over, unit);
  settings.print = print_scale(options.printed_bar, kBar_mm, unit);
  if (!options.edge_report.empty()) take_edge_report(options, settings);
  return settings;
}

FaceToMeasure load(Face face, const std::string& path, const std::string& camera_file) {
  FaceToMeasure loaded{face, read_photo(path), {}};
  loaded.camera = choose_camera(loaded.photo, camera_file);
  return loaded;
}

/// Both at once; of two bad photos the left one is named.
std::vector<FaceToMeasure> load_faces(const SideOptions& options) {
  std::future<FaceToMeasure> right;
  if (!options.right.empty()) {
    right = std::async(std::launch::async, load, Face::right, options.right, options.camera_file);
  }
  std::vector<FaceToMeasure> faces;
  if (!options.left.empty()) faces.push_back(load(Face::left, options.left, options.camera_file));
  if (right.valid()) faces.push_back(right.get());
  return faces;
}

void settle(SideOptions& options, const KnifeFacts& knife) {
  const Shop shop = read_shop();
  const bool reported = !options.edge_report.empty();
  settle_length(options, "thickness", options.thickness,
                reported ? std::nullopt : fact_of(knife, KnifeFact::thickness));
  settle_length(options, "tolerance", options.tolerance, fact_of(knife, KnifeFact::side_tolerance),
                shop.side_tolerance);
  settle_length(options, "land", options.land, std::nullopt);
  settle_units(options, shop);
  settle_printed_bar(options, shop, CardKind::side);
  if (!reported) return;
  if (options.thickness.empty()) options.from.add_text("thickness", "edge report");
  if (options.land.empty()) options.from.add_text("land", "edge report");
}

/// A refusal says of which face it is.
Written measured_faces(const std::vector<FaceToMeasure>& faces, const SideSettings& settings,
                       const ReportSettings& report, const SideOptions& options) {
  try {
    return measure_faces(faces, settings, report, options.folder);
  } catch (const Error& e) {
    const bool right = std::string(e.what()).find("(right face)") != std::string::npos;
    const FaceToMeasure& refused = right ? faces.back() : faces.front();
    draw_refused(options, refused.photo, CardKind::side, options.folder);
    throw;
  }
}

int run_side(const SideOptions& options) {
  if (options.left.empty() && options.right.empty()) {
    throw CLI::ValidationError("side", "give --left PHOTO, --right PHOTO or both");
  }
  const SideSettings settings = side_settings(options);
  const ReportSettings report = report_settings(options);
  const std::vector<FaceToMeasure> faces = load_faces(options);
  const Written measured = measured_faces(faces, settings, report, options);
  std::cout << statement_text(measured.statement, report.unit);
  show_files(options);
  return exit_code_of(measured.verdict);
}

std::string side_footer() {
  return "Left and right are the knife's: edge down, tip pointing away from you. With the edge\n"
         "toward the bottom of the picture, the left face shows the tip at the left.\n\n"
         "Examples:\n"
         "  evenbevel side --left left.jpg --right right.jpg --thickness 3.2mm -o out/\n"
         "  evenbevel side --left left.jpg --right right.jpg --edge-report edge/report.json\n"
         "  evenbevel side --left left.jpg --thickness 0.125in --tip-thickness 0.080in\n"
         "  evenbevel side --left left.jpg --thickness 3.2mm --at 20mm,60mm --at-from-tip 15mm\n"
         "  evenbevel side --left l.jpg --right r.jpg --thickness 3.2mm --tolerance 0.2mm\n"
         "  evenbevel side --left l.jpg --right r.jpg --thickness 3.2mm -o out/ --knife \"paring "
         "3\" \\\n      --at-stage \"120 grit\"\n\n" +
         help_exit_codes() + "\n" + help_cautions();
}

}  // namespace

void add_side(CLI::App& app, int& exit_code, const std::string& command_line) {
  auto options = std::make_shared<SideOptions>();
  options->command_line = command_line;
  CLI::App* side = app.add_subcommand(
      "side", "Measure the faces: bevel lines and plunge lines, the left against the right");
  side->footer(side_footer());
  side->add_option("--left", options->left, "Photo of the left face on the side card")
      ->type_name("PHOTO");
  side->add_option("--right", options->right, "Photo of the right face; one face alone will do")
      ->type_name("PHOTO");
  add_common_options(*side, *options,
                     "Largest bevel height difference and plunge mismatch allowed");
  side->add_option("--thickness", options->thickness,
                   "Stock thickness, by micrometer (3.2mm, 0.125in); or --edge-report")
      ->type_name("LENGTH");
  side->add_option("--tip-thickness", options->tip_thickness,
                   "Thickness at the tip, when the blade has a distal taper")
      ->type_name("LENGTH");
  side->add_option("--land", options->land, "Edge thickness under the bevels; gives the angles")
      ->type_name("LENGTH");
  side->add_option("--edge-report", options->edge_report,
                   "report.json of this blade's edge view: thickness, land, centreline offset")
      ->type_name("FILE");
  side->add_option("--step", options->step, "Distance between stations")
      ->type_name("LENGTH")
      ->capture_default_str();
  side->add_option("--at", options->at, "Bevel height there too, from the plunge line: 20mm,60mm")
      ->type_name("LENGTH,...");
  side->add_option("--at-from-tip", options->at_from_tip, "The same, counted back from the tip")
      ->type_name("LENGTH,...");
  side->add_option("--mean-over", options->mean_over,
                   "Means over this stretch alone, from the plunge line (10mm,80mm), so that "
                   "stages compare")
      ->delimiter(',')
      ->type_name("FROM,TO");
  add_record_options(*side, options->record);
  side->callback([options, &exit_code] {
    try {
      add_default_folder(*options, options->left.empty() ? options->right : options->left);
      require_knife(options->record);
      const KnifeFacts known = known_facts(options->record);
      settle(*options, known);
      exit_code =
          measure_and_record(options->record, options->folder, [&] { return run_side(*options); });
      KnifeFacts typed;
      add_typed(typed, KnifeFact::thickness, *options, options->thickness);
      add_typed(typed, KnifeFact::side_tolerance, *options, options->tolerance, "tolerance");
      keep_said(options->record, known, typed, options->unit());
    } catch (const Error& e) {
      throw in_unit(e, options->unit());
    }
  });
}

}  // namespace evenbevel::cli
