#include <algorithm>
#include <iostream>
#include <memory>

#include "commands.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/plan_report.hpp"
#include "options.hpp"
#include "shop.hpp"

namespace evenbevel::cli {
namespace {

/// The options as typed; lengths wait for --units.
struct PlanOptions {
  std::map<PlanQuantity, std::string> quantities;
  std::string facet_angle = "45", step, knife, folder, sheet, units;
  bool json = false;
  std::string command_line;
};

std::string option_name(PlanQuantity quantity) {
  std::string text = "--" + std::string(name(quantity));
  std::replace(text.begin(), text.end(), '_', '-');
  return text;
}

double given_length_mm(const std::string& option, const std::string& text, LengthUnit unit) {
  const std::optional<double> mm = parse_length_mm(text, unit);
  if (!mm || *mm < 0.0) {
    throw CLI::ValidationError(option, "'" + text +
                                           "' is not a length; write for example 3.2mm, 0.125in, "
                                           "5/32in, '1 1/2in' or 12thou");
  }
  if (*mm > 0.0) require_range(option, text, *mm, unit, kAnyLength);
  return *mm;
}

double angle_rad(const std::string& option, const std::string& text) {
  const std::optional<double> angle = parse_angle_rad(text);
  if (!angle) {
    throw CLI::ValidationError(
        option, "'" + text + "' is not an angle; write degrees, for example 17 or 17.5deg");
  }
  return *angle;
}

double number(PlanQuantity quantity, const std::string& text, LengthUnit unit) {
  if (is_angle(quantity)) return angle_rad(option_name(quantity), text);
  if (quantity == PlanQuantity::drill) {
    if (const std::optional<Drill> drill = find_drill(text)) return drill->diameter_mm;
  }
  return given_length_mm(option_name(quantity), text, unit);
}

PlanRequest request_of(const PlanOptions& options, LengthUnit unit) {
  PlanRequest request;
  for (const auto& [quantity, text] : options.quantities) {
    if (!text.empty()) request.given[quantity] = number(quantity, text, unit);
  }
  request.facet_angle_rad = angle_rad("--facet-angle", options.facet_angle);
  const double degrees_given = degrees(request.facet_angle_rad);
  if (degrees_given < 15.0 || degrees_given > 75.0) {
    throw CLI::ValidationError("--facet-angle", "edge facets stand at 15 to 75 degrees");
  }
  request.station_step_mm = unit == LengthUnit::mm ? 10.0 : kMmPerInch / 2.0;
  if (unit != LengthUnit::mm) {
    request.depths_mm = {0.05 * kMmPerInch, 0.2 * kMmPerInch, 0.4 * kMmPerInch};
  }
  if (!options.step.empty())
    request.station_step_mm = given_length_mm("--step", options.step, unit);
  if (request.station_step_mm <= 0.0) throw CLI::ValidationError("--step", "is not above zero");
  request.knife = options.knife;
  return request;
}

/// Values that do not go together are wrong use, not a photo that cannot be measured.
Plan planned(const PlanRequest& request, LengthUnit unit) {
  try {
    return make_plan(request);
  } catch (const Error& e) {
    throw CLI::ValidationError(e.what_is_wrong().said(unit) +
                               "\n  do: " + e.what_to_do().said(unit));
  }
}

int run_plan(const PlanOptions& options) {
  const LengthUnit unit = unit_or_shops(options.units);
  const Plan plan = planned(request_of(options, unit), unit);
  const Sheet sheet = paper_or_shops(options.sheet, unit);
  if (!options.folder.empty()) {
    write_plan(plan, unit, sheet, options.command_line, options.folder);
  }
  std::cout << (options.json ? plan_json(plan, options.command_line) : plan_text(plan, unit));
  if (!options.folder.empty() && !options.json) {
    std::cout << "\ncard     " << (std::filesystem::path(options.folder) / "plan.pdf").string()
              << '\n';
  }
  return 0;
}

/// What each quantity is, for the help.
std::string help_of(PlanQuantity quantity) {
  using enum PlanQuantity;
  switch (quantity) {
    case stock:
      return "Thickness between the flats, by micrometer";
    case land:
      return "Thickness to leave at the edge, between the scribe lines";
    case scribe_height:
      return "Of either scribe line above the plate";
    case drill:
      return "Laid on the plate to scribe with: a diameter, or '#43', F";
    case bevel_height:
      return "Edge to bevel line, along the middle of the blade";
    case bevel_angle:
      return "Per side, from the middle of the blade";
    case bevel_included:
      return "Both sides together";
    case bevel_face:
      return "Edge to bevel line along the ground face";
    case blade_height:
      return "Edge to spine";
    case flat_height:
      return "Bevel line to spine; 0 for a full flat grind";
    case sharpening_angle:
      return "Per side";
    case sharpening_included:
      return "Both sides together";
    case sharpened_width:
      return "Of the sharpened bevel along its face";
    case sharpened_height:
      return "Of the sharpened bevel along the middle of the blade";
    case shoulder_thickness:
      return "Where the sharpened bevel ends";
    case length:
      return "Plunge line to tip";
    case tip_thickness:
      return "Between the flats at the tip";
    case taper:
      return "Thickness lost from plunge line to tip";
    case taper_angle:
      return "Distal taper per side";
    case rest_length:
      return "Of work rest or jig plate, to the shim";
    case shim:
      return "That tilts the rest by the bevel angle";
  }
  return "";
}

std::string plan_footer() {
  return "Give what you know; what follows is worked out, what is missing is named, and values "
         "that\n"
         "contradict each other are refused. Section symmetric, grind flat.\n\n"
         "Examples:\n"
         "  evenbevel plan --stock 0.125in --land 0.012in --units in\n"
         "  evenbevel plan --stock 5/32in --drill '#29' --units in\n"
         "  evenbevel plan --stock 4mm --land 0.4mm --bevel-angle 5 --blade-height '1 1/4in'\n"
         "  evenbevel plan --stock 4mm --land 0.4mm --bevel-height 20mm --sharpening-angle 17 \\\n"
         "    --length 120mm --tip-thickness 2mm --rest-length 150mm --knife 'Hunter 3' -o out/\n\n"
         "Exit code: 0 worked out, 2 wrong use, contradiction or nothing to go by (the message "
         "says\n"
         "which), 3 the files cannot be written, 4 an internal fault.\n\n" +
         help_cautions();
}

}  // namespace

void add_plan(CLI::App& app, int& exit_code, const std::string& command_line) {
  auto options = std::make_shared<PlanOptions>();
  options->command_line = command_line;
  CLI::App* plan = app.add_subcommand(
      "plan", "Set-up sums: scribe heights, angles, bevel line, thickness behind the edge");
  plan->footer(plan_footer());
  for (int i = 0; i < kPlanQuantities; ++i) {
    const auto quantity = static_cast<PlanQuantity>(i);
    plan->add_option(option_name(quantity), options->quantities[quantity], help_of(quantity))
        ->type_name(is_angle(quantity) ? "ANGLE" : "LENGTH");
  }
  plan->add_option("--facet-angle", options->facet_angle,
                   "Edge facets against the middle of the blade, degrees [45]")
      ->type_name("ANGLE");
  plan->add_option("--step", options->step,
                   "Distance between the stations of a distal taper [10mm or 1/2in]")
      ->type_name("LENGTH");
  plan->add_option("--knife", options->knife, "Its name, for the card")->type_name("NAME");
  plan->add_option("-o,--output", options->folder, "Folder for plan.pdf (the card) and plan.json")
      ->type_name("FOLDER");
  plan->add_flag("--json", options->json, "Print plan.json in place of the table");
  plan->add_option(
          "--sheet", options->sheet,
          "Paper of the card, upright [as shop.toml says; else letter in inches, a4 in mm]")
      ->type_name("a4|letter")
      ->transform(CLI::IsMember({"a4", "letter"}, CLI::ignore_case).description(""));
  add_units(*plan, options->units, "For output and bare numbers");
  plan->callback([options, &exit_code] { exit_code = run_plan(*options); });
}

}  // namespace evenbevel::cli
