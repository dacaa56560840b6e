#include "edge_options.hpp"

#include "print_scale.hpp"

namespace evenbevel::cli {
namespace {

/// A bevel protractor's vernier reads to 5 minutes, so to either side within half of that; set by
/// hand on a ground face, twice as much: 5' / sqrt(3) (common practice, no source).
constexpr double kProtractorU = radians(5.0 / 60.0) / 1.7320508;

}  // namespace

void add_edge_view_options(CLI::App& command, EdgeViewOptions& options) {
  add_common_options(command, options, "Largest centreline offset allowed");
  command
      .add_option("--thickness", options.thickness,
                  "Stock thickness between the flats, by micrometer (3.2mm, 0.125in); needed, "
                  "unless the knife's is known")
      ->type_name("LENGTH");
  command
      .add_option("--edge-height", options.edge_height,
                  "Edge above the card's top; found from the thickness when not given")
      ->type_name("LENGTH");
  command
      .add_flag("--no-card", options.no_card,
                "Quick look without a card: the thickness is the ruler, the intervals are wide")
      ->excludes("--edge-height", "--printed-bar");
  command
      .add_option("--shows", options.shows,
                  "What the photo shows: scribed, ground or bevelled; found from it when not given")
      ->check(CLI::IsMember({"scribed", "ground", "bevelled"}));
  command.add_option("--stage", options.stage)->group("");
  command
      .add_option("--tip", options.tip,
                  "Where the tip points on the upright card, or in the upright picture with "
                  "--no-card; plunge lines tell, else right")
      ->check(CLI::IsMember({"left", "right"}));
  command
      .add_option("--facet-angle", options.facet_angle_deg,
                  "Edge facets against the blade's mid-plane, degrees")
      ->check(number_from(15.0, 75.0))
      ->type_name("DEGREES")
      ->capture_default_str();
  command
      .add_option("--jaw-lean", options.jaw_lean_deg,
                  "How far the clamped blade leans off square to the card, degrees, as a bevel "
                  "protractor shows; plus: the edge toward the card's upper side. Taken out of "
                  "the offset of a ground edge")
      ->check(number_from(-10.0, 10.0))
      ->type_name("DEGREES")
      ->excludes("--no-card");
  command.add_option("--land", options.land, "Land width you are grinding toward")
      ->type_name("LENGTH");
  command.add_option("--step", options.step, "Distance between stations")
      ->type_name("LENGTH")
      ->capture_default_str();
}

bool is_stage_of_edge(const std::string& word) {
  return word == "scribed" || word == "ground" || word == "bevelled";
}

void share_stage(EdgeViewOptions& options, RecordChoice& record) {
  if (options.stage.empty()) return;
  const bool of_photo = is_stage_of_edge(options.stage);
  const bool of_knife = !record.knife.empty();
  if (of_photo && of_knife && options.shows.empty() && record.stage.empty()) {
    throw CLI::ValidationError(
        "--stage", "'" + options.stage + "' may be what the photo shows (--shows " + options.stage +
                       ") or the knife's stage (--at-stage " + options.stage +
                       "): say which, or both");
  }
  if (!of_photo && !of_knife) {
    throw CLI::ValidationError(
        "--stage", "'" + options.stage +
                       "' is none of scribed, ground, bevelled (what the photo shows: --shows); "
                       "the knife's own stage goes with --knife, as --at-stage");
  }
  const bool for_knife = of_knife && record.stage.empty();
  (for_knife ? record.stage : options.shows) = options.stage;
}

void set_stage_and_tip(EdgeSettings& settings, const std::string& shows, const std::string& tip) {
  if (shows == "scribed") settings.stage = Stage::scribed;
  if (shows == "ground") settings.stage = Stage::ground;
  if (shows == "bevelled") settings.stage = Stage::bevelled;
  if (tip == "left") settings.tip = Tip::left;
  if (tip == "right") settings.tip = Tip::right;
}

EdgeSettings edge_view_settings(const EdgeViewOptions& options) {
  const LengthUnit unit = options.unit();
  EdgeSettings settings;
  settings.thickness_mm = *length_mm("--thickness", options.thickness, unit, kStockRange);
  settings.edge_height_mm = length_mm("--edge-height", options.edge_height, unit);
  settings.step_mm = *length_mm("--step", options.step, unit, kStepRange);
  settings.facet_angle_rad = radians(options.facet_angle_deg);
  if (options.jaw_lean_deg) {
    settings.jaw_lean_rad = radians(*options.jaw_lean_deg);
    settings.jaw_squareness_u_rad = kProtractorU;
  }
  settings.card = !options.no_card;
  settings.print = print_scale(options.printed_bar, kBar_mm, unit);
  set_stage_and_tip(settings, options.shows, options.tip);
  return settings;
}

ReportSettings edge_view_report_settings(const EdgeViewOptions& options) {
  ReportSettings settings = report_settings(options);
  settings.wanted_land_mm = length_mm("--land", options.land, options.unit());
  return settings;
}

}  // namespace evenbevel::cli
