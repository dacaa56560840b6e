#include <algorithm>

#include "advice/bevel_zones.hpp"
#include "evenbevel/advice.hpp"
#include "evenbevel/side_report.hpp"
#include "report/side_quantities.hpp"
#include "report/side_words.hpp"
#include "report/statement_pieces.hpp"
#include "report/verdict.hpp"

namespace evenbevel {
namespace {

void add_stretch(std::vector<StatedQuantity>& quantities, const char* id,
                 const std::optional<BladeStretch>& stretch) {
  StatedQuantity* quantity = find_in(quantities, id);
  if (!stretch || quantity == nullptr) return;
  quantity->more.add_mm("x_from", stretch->from_mm).add_mm("x_to", stretch->to_mm);
}

NoteOf note_of(const SideResult& result) {
  return
      [&](const Quantity& quantity, LengthUnit unit) { return side_note(quantity, result, unit); };
}

std::vector<StatedQuantity> side_quantities_of(const SideResult& result) {
  std::vector<StatedQuantity> all = stated(measured_of(side_quantities(), result), note_of(result));
  if (StatedQuantity* worst = find_in(all, "bevel_height_difference_worst")) {
    worst->more.add_mm("x", result.worst_x_mm);
  }
  add_stretch(all, "bevel_height_left", result.bevel_stretch_left);
  add_stretch(all, "bevel_height_right", result.bevel_stretch_right);
  add_stretch(all, "bevel_height_difference", result.bevel_stretch_difference);
  return all;
}

StatedTable asked_places_table(const SideResult& result) {
  StatedTable table{
      .name = "bevel_height_at",
      .title = "Bevel height where it was asked for",
      .columns = {{"distance", "distance"},
                  {"from", "from"},
                  {"x", "x"},
                  {"bevel_height_left", "bevel height, left"},
                  {"bevel_height_right", "right"},
                  {"bevel_height_difference", "left - right", QuantityKind::signed_length}}};
  for (const BevelAtPlace& at : result.bevel_at) {
    StatedPlace& place = table.places.emplace_back();
    place.at.add_text("from", at.asked.from_tip ? "tip" : "plunge_line");
    place.at.add_mm("distance", at.asked.distance_mm).add_mm("x", at.x_mm);
    add_length(place.quantities, "bevel_height_left", at.left_mm);
    add_length(place.quantities, "bevel_height_right", at.right_mm);
    add_length(place.quantities, "bevel_height_difference", at.difference_mm);
  }
  return table;
}

StatedTable plunges_table(const SideResult& result) {
  constexpr QuantityKind kPlace = QuantityKind::signed_length;
  StatedTable table{.name = "plunges",
                    .title = "Plunge lines",
                    .columns = {{"z", "height"},
                                {"plunge_left", "x, left", kPlace},
                                {"plunge_right", "x, right", kPlace},
                                {"plunge_mismatch", "left - right", kPlace}}};
  for (const PlungeAtHeight& plunge : result.plunges) {
    StatedPlace& place = table.places.emplace_back();
    place.at.add_mm("z", plunge.z_mm);
    add_length(place.quantities, "plunge_left", plunge.left_mm);
    add_length(place.quantities, "plunge_right", plunge.right_mm);
    add_length(place.quantities, "plunge_mismatch", plunge.mismatch_mm);
  }
  return table;
}

/// The stretches where a face has something to lose.
StatedTable zones_table(const SideResult& result, const ReportSettings& settings) {
  StatedTable table{.name = "zones",
                    .title = "Where to grind",
                    .columns = {{"grind", "face"},
                                {"from", "from x"},
                                {"to", "to x"},
                                {"come_up_least", "bevel line up by, least"},
                                {"come_up_most", "most"}}};
  for (const BevelZone& zone : bevel_zones(result, settings.tolerance_mm)) {
    if (!zone.grind) continue;
    StatedPlace& place = table.places.emplace_back();
    place.at.add_text("grind", std::string(name(*zone.grind)));
    place.at.add_mm("from", zone.from_mm).add_mm("to", zone.to_mm);
    place.quantities = {{.id = "come_up_least", .value = stated_length(zone.least_mm)},
                        {.id = "come_up_most", .value = stated_length(zone.most_mm)}};
    place.quantities.back().more.add_mm("x", zone.most_x_mm);
  }
  return table;
}

StatedStation stated_station(const SideStation& station) {
  StatedStation all{.at_mm = rounded(station.x_mm, 5)};
  for (const Face face : kFaces) {
    const FaceStation& on = station_on(station, face);
    add_place(all.places, name(face), "edge", on.edge_px);
    add_place(all.places, name(face), "bevel", on.bevel_px);
    add_place(all.places, name(face), "spine", on.spine_px);
  }
  for (const auto& quantity : face_quantities()) {
    for (const Face face : kFaces) {
      const auto value = measured(station_on(station, face).*quantity.member);
      if (!value) continue;
      all.quantities.push_back(stated(Quantity{quantity.what(), *value}));
      all.quantities.back().id = name_on(quantity.name, face);
    }
  }
  for (const Quantity& quantity : measured_of(side_station_quantities(), station)) {
    all.quantities.push_back(stated(quantity));
  }
  return all;
}

std::vector<StatedStation> side_stations_of(const SideResult& result) {
  std::vector<StatedStation> all;
  all.reserve(result.stations.size());
  for (const SideStation& station : result.stations) all.push_back(stated_station(station));
  return all;
}

std::vector<StationColumn> side_columns() {
  std::vector<StationColumn> all;
  for (const Face face : kFaces) {
    for (const char* place : {"edge", "bevel", "spine"}) add_place_column(all, name(face), place);
    for (const auto& quantity : face_quantities()) {
      add_column(all, quantity.what(), name(face));
    }
  }
  for (const auto& quantity : side_station_quantities()) add_column(all, quantity.what());
  return all;
}

/// The bevel where it was asked for, "not seen" where it was not.
void add_place_rows(std::vector<Glance::Row>& rows, const BevelAtPlace& at, bool both) {
  const auto add = [&](const char* what, const std::optional<Measured>& value, QuantityKind kind) {
    const InUnits label = in_units([&](LengthUnit unit) { return place_label(what, at, unit); });
    const InUnits note = in_units([&](LengthUnit unit) { return place_note(at, unit); });
    const std::optional<Measured> seen = measured(value);
    if (seen) {
      rows.push_back(glance_row(label, kind, *seen, note));
    } else {
      rows.push_back({.label = label, .value = "not seen", .U95 = "-", .note = note});
    }
  };
  if (both || at.left_mm) add("bevel, left", at.left_mm, QuantityKind::length);
  if (both || at.right_mm) add("bevel, right", at.right_mm, QuantityKind::length);
  if (both) add("difference", at.difference_mm, QuantityKind::signed_length);
}

StatedChart difference_chart(const SideResult& result) {
  StatedChart chart{.title = "Bevel height difference",
                    .name =
                        "Bevel height difference along the blade, left minus right, with its 95 "
                        "percent interval",
                    .y_name = "up: left bevel line higher",
                    .curves = {{"bevel_height_difference", "left - right"}},
                    .zero = "no difference",
                    .judged = true};
  if (measured(result.bevel_height_difference_worst_mm)) {
    chart.worst_at_mm = rounded(result.worst_x_mm, 5);
  }
  return chart;
}

std::vector<StatedChart> side_charts(const SideResult& result) {
  std::vector<StatedChart> charts;
  if (result.faces.size() > 1) charts.push_back(difference_chart(result));
  charts.push_back(
      {.title = "Bevel height",
       .name = "Bevel height along the blade, left and right, with 95 percent intervals",
       .y_name = "bevel height",
       .curves = {{"bevel_height_left", "left"}, {"bevel_height_right", "right"}}});
  return charts;
}

/// "bevel_height_left at 20.000 mm from the tip".
std::string budget_name_at(const std::string& id, const AskedPlace& asked, LengthUnit unit) {
  return id + " at " + format_length(asked.distance_mm, unit) +
         (asked.from_tip ? " from the tip" : " from the plunge line");
}

/// Of the bevel heights that were asked for.
std::vector<QuantityBudgetLine> places_budget(const SideResult& result, const StatedTable& table) {
  std::vector<QuantityBudgetLine> all;
  for (std::size_t i = 0; i < table.places.size(); ++i) {
    for (const StatedQuantity& quantity : table.places[i].quantities) {
      const std::string name =
          budget_name_at(quantity.id, result.bevel_at[i].asked, LengthUnit::mm);
      for (const BudgetLine& line : quantity.budget) all.push_back({name, line});
    }
  }
  return all;
}

void declare_places(std::vector<DeclaredQuantity>& declared, const SideResult& result,
                    const StatedTable& table) {
  for (std::size_t i = 0; i < table.places.size(); ++i) {
    const AskedPlace& asked = result.bevel_at[i].asked;
    for (const StatedQuantity& quantity : table.places[i].quantities) {
      std::string words = quantity.id;
      std::ranges::replace(words, '_', ' ');
      declared.push_back(
          {budget_name_at(quantity.id, asked, LengthUnit::mm),
           in_units([&](LengthUnit unit) { return budget_name_at(words, asked, unit); })});
    }
  }
}

std::vector<std::string> side_how_to_read() {
  return {
      "The bevel height is the way from the edge up to the bevel line, on the face, at the same "
      "place along the blade. The difference is left minus right: plus where the left bevel line "
      "is higher.",
      "The plunge mismatch is the place of the left plunge line minus that of the right one, at "
      "half the bevel's height: plus where the left one is nearer the tip. What is measured is the "
      "crease where the flat begins to drop.",
      "The lean of a plunge line is against the edge's normal, plus to the tip going up.",
      "U95: the true value lies within this much of the printed one, 95 times in 100.",
      "Where to grind holds exactly those places where the difference is larger than its U95 (and, "
      "with a tolerance, not surely within it): there the lower bevel line has still to come up.",
      "A verdict looks at the whole interval of the worst bevel height difference and of the "
      "plunge mismatch. Where it holds both sides of the tolerance, these photos cannot tell, and "
      "say so.",
      "In pictures and charts the tip is at the right. The left face is mirrored for that, so that "
      "like lies over like."};
}

Glance side_glance(const SideResult& result, const ReportSettings& settings) {
  Glance glance{.headline = in_units([&](LengthUnit unit) {
                  return side_headline(result, in_unit(settings, unit));
                }),
                .title = side_view_words(result),
                .rows = glance_rows(measured_of(side_quantities(), result), note_of(result)),
                .verdict = in_units([&](LengthUnit unit) {
                  return side_verdict_sentence(result, in_unit(settings, unit));
                }),
                .origin = side_origin_sentence(result),
                .how_to_read = side_how_to_read()};
  for (const BevelAtPlace& at : result.bevel_at) {
    add_place_rows(glance.rows, at, result.faces.size() > 1);
  }
  return glance;
}

Facts traces_of(const SideResult& result, Face face) {
  Facts facts;
  for (const FaceTrace& trace : result.traces) {
    if (trace.face != face) continue;
    facts.add_part(std::string(name(trace.kind)),
                   trace_facts(trace.points_px.size(), trace.coverage));
  }
  return facts;
}

Facts face_look_facts(const FaceLook& look, const SideResult& result) {
  Facts facts;
  facts.add_number("coverage", look.bevel_coverage, 4);
  facts.add_number("scale_px_per_mm", look.scale_px_per_mm, 4);
  facts.add_number("blur_px", look.blur_px, 3);
  facts.add_number("camera_distance", look.camera_distance_mm, 2);
  facts.add_number("clipped_share", look.clipped_share, 4);
  return facts.add_part("traces", traces_of(result, look.face));
}

Facts outline_facts(const OutlineFit& fit) {
  Facts facts;
  facts.add_mm("rms", fit.rms_mm).add_mm("worst", fit.worst_mm);
  facts.add_mm("u_x", fit.u_x_mm).add_mm("u_z", fit.u_z_mm);
  return facts.add_number("u_turn", degrees(fit.u_turn_rad), 5);
}

Facts side_settings_facts(const SideSettings& with, const ReportSettings& settings) {
  Facts facts;
  facts.add_mm("thickness", with.thickness_mm).add_mm("thickness_u", with.thickness_u_mm);
  facts.add_mm("tip_thickness", with.tip_thickness_mm).add_mm("land", with.land_mm);
  facts.add_mm("centreline_offset", with.centreline_offset_mm).add_mm("step", with.step_mm);
  if (with.mean_over) facts.add_list("mean_over", {with.mean_over->from_mm, with.mean_over->to_mm});
  add_display(facts, settings);
  return facts;
}

Provenance side_provenance(Provenance from, const SideResult& result, const SideSettings& with,
                           std::span<const FacePhoto> photos, const ReportSettings& settings) {
  for (const FaceLook& look : result.faces) {
    const std::string face(name(look.face));
    from.photo_quality.add_part(face, face_look_facts(look, result));
    from.card.add_part(face, card_facts(CardKind::side, look.pose, look.corners_found, with.print));
  }
  for (const FacePhoto& photo : photos) {
    from.photos.push_back(stated_photo(*photo.photo, name(photo.face)));
    from.camera.add_part(std::string(name(photo.face)), camera_facts(*photo.camera));
  }
  from.settings = side_settings_facts(with, settings);
  return from;
}

std::vector<const Photo*> pictures(std::span<const FacePhoto> photos) {
  std::vector<const Photo*> all;
  all.reserve(photos.size());
  for (const FacePhoto& face : photos) all.push_back(face.photo);
  return all;
}

std::vector<Remark> side_photo_advice(const SideResult& result, const SideSettings& with,
                                      std::span<const FacePhoto> photos) {
  const bool guessed =
      std::ranges::any_of(photos, [](const FacePhoto& photo) { return photo.camera->guessed; });
  std::vector<Remark> all;
  if (auto calibrate = calibrate_first(result, guessed)) all.push_back(std::move(*calibrate));
  add_new(all, result.advice);
  return with_bar_to_check(std::move(all), with.print, CardKind::side);
}

}  // namespace

Statement side_statement(const SideResult& result, const SideSettings& measured_with,
                         std::span<const FacePhoto> photos, const ReportSettings& settings) {
  Statement statement = new_statement("side", settings);
  statement.glance = side_glance(result, settings);
  statement.x_origin = result.x_from_plunge ? "plunge_lines" : "handle_end";
  statement.verdict = name(side_verdict(result, settings));
  statement.quantities = side_quantities_of(result);
  statement.stations = side_stations_of(result);
  statement.columns = side_columns();
  statement.charts = side_charts(result);
  statement.declared = declared(names_of(side_quantities()));
  if (!result.bevel_at.empty()) {
    const StatedTable& asked = statement.tables.emplace_back(asked_places_table(result));
    statement.budget = places_budget(result, asked);
    declare_places(statement.declared, result, asked);
  }
  statement.tables.push_back(plunges_table(result));
  if (result.faces.size() > 1) statement.tables.push_back(zones_table(result, settings));
  if (result.tip_x_mm) statement.more.add_mm("tip_x", *result.tip_x_mm);
  if (!result.plunges.empty()) statement.more.add_mm("plunge_height", result.plunge_z_mm);
  if (result.outlines) statement.more.add_part("outlines", outline_facts(*result.outlines));
  statement.advice = all_advice(side_advice(result, settings.tolerance_mm),
                                side_photo_advice(result, measured_with, photos));
  statement.warnings = all_warnings(result.warnings, pictures(photos));
  statement.provenance =
      side_provenance(std::move(statement.provenance), result, measured_with, photos, settings);
  return statement;
}

}  // namespace evenbevel
