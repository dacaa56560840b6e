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

NoteOf note_of(const EdgeResult& result) {
  return
      [&](const Quantity& quantity, LengthUnit unit) { return edge_note(quantity, result, unit); };
}

std::vector<StatedQuantity> edge_quantities_of(const EdgeResult& result) {
  std::vector<StatedQuantity> all = stated(measured_of(edge_quantities(), result), note_of(result));
  if (StatedQuantity* worst = find_in(all, "centreline_offset_worst")) {
    worst->more.add_mm("x", result.worst_x_mm);
  }
  return all;
}

StatedStation stated_station(const EdgeStation& station) {
  StatedStation all{.at_mm = rounded(station.x_mm, 5),
                    .quantities = stated(measured_of(station_quantities(), station))};
  if (anything_seen(station) && station.px.allFinite()) all.places = {{.px = station.px}};
  if (measured(station.centreline_offset_mm)) all.residual_px = station.residual_px;
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

StatedChart offset_chart(const EdgeResult& result) {
  StatedChart chart{.title = "Offset along the blade",
                    .name = "Centreline offset along the blade with its 95 percent interval",
                    .y_name = "offset, down is toward the left face",
                    .curves = {{"centreline_offset", "offset"}},
                    .zero = "middle of the flats",
                    .plus_down = true,
                    .judged = true};
  if (measured(result.centreline_offset_worst_mm)) {
    chart.worst_at_mm = rounded(result.worst_x_mm, 5);
  }
  return chart;
}

std::vector<std::string> edge_how_to_read(const EdgeResult& result) {
  std::vector<std::string> all = {
      "The centreline offset is the middle of the land, or of the two scribe lines, measured from "
      "the middle of the two flats at the same place. Plus is toward the left face.",
      "U95: the true value lies within this much of the printed one, 95 times in 100.",
      "A verdict looks at the whole interval of the worst place. Where it holds both sides of the "
      "tolerance, this photo cannot tell, and says so.",
      "The symmetry zone is twice the worst offset: the width that a drawing would state.",
      "In picture and chart the tip is at the right and the left face below. In the picture, the "
      "dashed middle line is the middle of the flats as the camera sees it at the edge's height. "
      "Scales across the blade and of the offset are enlarged by the factors stated there."};
  if (result.monte_carlo.empty()) return all;
  all.emplace_back(
      "The Monte Carlo check (JCGM 101, clause 8): the intervals by the law of propagation and "
      "from "
      "the trials agree when both ends lie within the tolerance, half of the last digit that "
      "counts.");
  return all;
}

Glance edge_glance(const EdgeResult& result, const ReportSettings& settings) {
  return {.headline = in_units(
              [&](LengthUnit unit) { return edge_headline(result, in_unit(settings, unit)); }),
          .title = view_words(result) + ", " + stage_words(result.stage),
          .rows = glance_rows(measured_of(edge_quantities(), result), note_of(result)),
          .check = check_sentence(result),
          .verdict = in_units(
              [&](LengthUnit unit) { return verdict_sentence(result, in_unit(settings, unit)); }),
          .origin = origin_sentence(result),
          .how_to_read = edge_how_to_read(result)};
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
  if (with.jaw_lean_rad != 0.0) facts.add_number("jaw_lean", degrees(with.jaw_lean_rad), 4);
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
  statement.charts = {offset_chart(result)};
  statement.declared = declared(names_of(edge_quantities()));
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
