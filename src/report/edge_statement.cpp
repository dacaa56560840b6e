#include <array>

#include "evenbevel/advice.hpp"
#include "evenbevel/report.hpp"
#include "report/edge_check.hpp"
#include "report/edge_quantities.hpp"
#include "report/edge_words.hpp"
#include "report/statement_pieces.hpp"
#include "report/verdict.hpp"

namespace evenbevel {
namespace {

const char* words_of(Tip tip) { return tip == Tip::left ? "left" : "right"; }

std::vector<StatedQuantity> edge_quantities_of(const EdgeResult& result) {
  std::vector<StatedQuantity> all = stated(measured_of(edge_quantities(), result));
  if (StatedQuantity* worst = find_in(all, "centreline_offset_worst")) {
    worst->more.add_mm("x", result.worst_x_mm);
  }
  return all;
}

StatedStation stated_station(const EdgeStation& station) {
  StatedStation all{.at_mm = station.x_mm,
                    .quantities = stated(measured_of(station_quantities(), station))};
  if (anything_seen(station) && station.px.allFinite()) all.places = {{.px = station.px}};
  if (measured(station.centreline_offset_mm)) {
    all.residual_px = station.residual_px;
    all.budget = station.budget;
  }
  return all;
}

std::vector<StatedStation> edge_stations_of(const EdgeResult& result) {
  std::vector<StatedStation> all;
  all.reserve(result.stations.size());
  for (const EdgeStation& station : result.stations) all.push_back(stated_station(station));
  return all;
}

std::vector<StationColumn> edge_columns() {
  std::vector<StationColumn> all;
  add_place_column(all, "", "");
  for (const StationQuantity& quantity : station_quantities()) add_column(all, quantity.what());
  all.push_back({.kind = StationColumn::Kind::residual});
  return all;
}

Glance edge_glance(const EdgeResult& result, const ReportSettings& settings) {
  const auto note = [&](const Quantity& quantity, LengthUnit unit) {
    return edge_note(quantity, result, unit);
  };
  return {.title = view_words(result) + ", " + stage_words(result.stage),
          .headline = in_units(
              [&](LengthUnit unit) { return edge_headline(result, in_unit(settings, unit)); }),
          .origin = origin_sentence(result),
          .rows = glance_rows(measured_of(edge_quantities(), result), note),
          .check = check_sentence(result),
          .verdict = in_units(
              [&](LengthUnit unit) { return verdict_sentence(result, in_unit(settings, unit)); })};
}

Facts edge_card_facts(const EdgeResult& result, const EdgeSettings& with) {
  if (result.pose) {
    return card_facts(CardKind::edge, *result.pose, result.corners_found, with.print);
  }
  return Facts()
      .add_text("kind", "none")
      .add_flag("quick_look", true)
      .add_text("ruler", "thickness");
}

Facts edge_settings_facts(const EdgeSettings& with, const ReportSettings& settings) {
  Facts facts;
  facts.add_mm("thickness", with.thickness_mm).add_mm("thickness_u", with.thickness_u_mm);
  facts.add_mm("edge_height", with.edge_height_mm);
  if (with.stage) facts.add_text("stage", std::string(name(*with.stage)));
  if (with.tip) facts.add_text("tip", words_of(*with.tip));
  facts.add_mm("step", with.step_mm);
  facts.add_number("facet_angle", degrees(with.facet_angle_rad), 4);
  facts.add_number("jaw_squareness_u", degrees(with.jaw_squareness_u_rad), 4);
  add_display(facts, settings);
  return facts;
}

Facts edge_quality_facts(const EdgeResult& result) {
  Facts facts;
  facts.add_number("coverage", result.coverage, 4);
  facts.add_number("scale_px_per_mm", result.scale_px_per_mm, 4);
  facts.add_number("blur_px", result.blur_px, 3);
  facts.add_number("camera_distance", result.camera_distance_mm, 2);
  if (result.pose) {
    facts.add_number("edge_height", result.edge_height_mm, 3);
    facts.add_number("camera_lateral", result.camera_lateral_mm, 2);
  }
  Facts traces;
  for (const EdgeTrace& trace : result.traces) {
    traces.add_part(std::string(name(trace.kind)),
                    trace_facts(trace.points_px.size(), trace.coverage));
  }
  return facts.add_part("traces", traces);
}

/// What each photo of several says alone.
StatedTable photos_table(const EdgeResult& result) {
  StatedTable table{.name = "photos"};
  for (const EdgePhotoPart& part : result.photos) {
    StatedPlace& photo = table.places.emplace_back();
    photo.at.add_text("photo", part.photo).add_flag("turned", part.turned);
    photo.at.add_text("tip", words_of(part.tip));
    photo.at.add_number("camera_lateral", part.camera_lateral_mm, 2);
    photo.at.add_number("camera_distance", part.camera_distance_mm, 2);
    add_length(photo.quantities, "centreline_offset", part.centreline_offset_mm);
  }
  return table;
}

}  // namespace

Statement edge_statement(const EdgeResult& result, const EdgeSettings& measured_with,
                         const Photo& photo, const CameraModel& camera,
                         const ReportSettings& settings) {
  Statement statement = new_statement("edge", settings);
  statement.glance = edge_glance(result, settings);
  statement.stage = name(result.stage);
  statement.tip = words_of(result.tip);
  statement.x_origin = result.x_from_plunge ? "plunge_lines" : "first_station";
  statement.verdict = name(edge_verdict(result, settings));
  statement.quantities = edge_quantities_of(result);
  statement.stations = edge_stations_of(result);
  statement.columns = edge_columns();
  statement.budget = stated_budget(result.budget, names_of(edge_quantities()));
  if (!result.monte_carlo.empty()) statement.tables.push_back(checks_table(result));
  if (!result.photos.empty()) statement.tables.push_back(photos_table(result));
  statement.advice = all_advice(edge_advice(result, settings.wanted_land_mm, settings.tolerance_mm),
                                photo_advice(result, settings));
  statement.warnings = all_warnings(result.warnings, std::array{&photo});
  Provenance& from = statement.provenance;
  from.photos = {stated_photo(photo)};
  from.photo_quality = edge_quality_facts(result);
  from.camera = camera_facts(camera);
  from.card = edge_card_facts(result, measured_with);
  from.settings = edge_settings_facts(measured_with, settings);
  return statement;
}

}  // namespace evenbevel
