#include <algorithm>
#include <array>
#include <string_view>

#include "evenbevel/advice.hpp"
#include "evenbevel/choil_report.hpp"
#include "report/choil_quantities.hpp"
#include "report/choil_words.hpp"
#include "report/statement_pieces.hpp"
#include "report/verdict.hpp"

namespace evenbevel {
namespace {

StatedStation stated_station(const ChoilDepth& depth) {
  StatedStation all{.at_mm = rounded(depth.depth_mm, 5),
                    .quantities = stated(measured_of(depth_quantities(), depth))};
  add_place(all.places, "", "left", depth.left_px);
  add_place(all.places, "", "right", depth.right_px);
  return all;
}

std::vector<StatedStation> choil_stations_of(const ChoilResult& result) {
  std::vector<StatedStation> all;
  for (const ChoilDepth& depth : choil_stations(result)) all.push_back(stated_station(depth));
  return all;
}

std::vector<StationColumn> choil_columns() {
  std::vector<StationColumn> all;
  for (const char* side : {"left", "right"}) add_place_column(all, "", side);
  for (const auto& quantity : depth_quantities()) add_column(all, quantity.what());
  return all;
}

std::vector<Glance::Row> depth_rows(const ChoilResult& result) {
  std::vector<Glance::Row> rows;
  for (const ChoilDepth& depth : result.depths) {
    if (!measured(depth.thickness_mm)) continue;
    const InUnits at =
        in_units([&](LengthUnit unit) { return trimmed_length(depth.depth_mm, unit); });
    rows.push_back(glance_row("thickness at " + at, QuantityKind::length, *depth.thickness_mm, ""));
  }
  return rows;
}

NoteOf note_of(const ChoilResult& result) {
  return
      [&](const Quantity& quantity, LengthUnit unit) { return choil_note(quantity, result, unit); };
}

StatedChart asymmetry_chart(const ChoilResult& result) {
  StatedChart chart{.title = "Asymmetry",
                    .name =
                        "Asymmetry, left half minus right half, against the depth behind the "
                        "edge, with its 95 percent interval",
                    .y_name = "down: left half thicker",
                    .curves = {{"asymmetry", "left - right half"}},
                    .zero = "symmetric",
                    .plus_down = true,
                    .judged = true};
  if (measured(result.asymmetry_mm)) chart.worst_at_mm = rounded(result.asymmetry_depth_mm, 5);
  return chart;
}

StatedChart halves_chart() {
  return {.title = "Both halves",
          .name =
              "Left and right half of the section against the depth behind the edge, with 95 "
              "percent intervals",
          .y_name = "from the axis",
          .curves = {{"half_left", "left half"}, {"half_right", "right half"}}};
}

/// "thickness_at_0.25" and the like, of which depths have budgets.
void declare_at_depth(std::vector<DeclaredQuantity>& all, const std::string& name,
                      std::string_view what, double depth_mm) {
  const auto kinds = depth_quantities();
  const auto kind = std::ranges::find_if(
      kinds, [&](const auto& one) { return std::string_view(one.name) == what; });
  const std::string label = kind->label;
  all.push_back(
      {name, in_units([&](LengthUnit unit) { return label + " " + depth_words(depth_mm, unit); }),
       kind->kind});
}

std::vector<DeclaredQuantity> choil_declared(const std::vector<StatedQuantity>& quantities) {
  std::vector<DeclaredQuantity> all = declared(choil_quantity_names());
  for (const QuantityName& at_depth : names_of(depth_quantities())) {
    if (find(all, at_depth.name) == nullptr) {
      all.push_back({at_depth.name, at_depth.label, at_depth.kind});
    }
  }
  for (const StatedQuantity& quantity : quantities) {
    if (!quantity.depth_mm) continue;
    declare_at_depth(all, budget_name(quantity), "thickness", *quantity.depth_mm);
    for (const StatedQuantity& beside : quantity.beside) {
      declare_at_depth(all, budget_name(quantity, beside), beside.id, *quantity.depth_mm);
    }
  }
  return all;
}

std::vector<std::string> choil_how_to_read() {
  return {
      "Depth is the way from the edge toward the spine; the thickness at a depth is measured "
      "straight across.",
      "The halves are measured from the section's axis; the asymmetry is left half minus right "
      "half: plus where the left one is thicker. The largest over the range is stated.",
      "The angle of a side is that of the straight line fitted to it, against the axis. The "
      "bow is the height of its arc over that line: plus bulges out.",
      "A short arc tells little of its radius: the interval is wide then, and may have no "
      "upper end.",
      "U95: the true value lies within this much of the printed one, 95 times in 100.",
      "The picture is turned so that the edge is down, tip away from you: left is at the left. "
      "The dashed outline is the section's mirror image."};
}

Glance choil_glance(const ChoilResult& result, const ReportSettings& settings) {
  Glance glance{.headline = in_units([&](LengthUnit unit) {
                  return choil_headline(result, in_unit(settings, unit));
                }),
                .title = "choil view",
                .rows = depth_rows(result)};
  const std::vector<Glance::Row> rows = glance_rows(choil_quantities(result), note_of(result));
  glance.rows.insert(glance.rows.end(), rows.begin(), rows.end());
  glance.verdict = in_units(
      [&](LengthUnit unit) { return choil_verdict_sentence(result, in_unit(settings, unit)); });
  glance.origin = in_units([&](LengthUnit unit) { return range_sentence(result, unit); });
  glance.how_to_read = choil_how_to_read();
  return glance;
}

/// One a depth asked for where the section was seen.
void add_thicknesses(std::vector<StatedQuantity>& quantities, const ChoilResult& result) {
  for (const ChoilDepth& depth : result.depths) {
    if (!measured(depth.thickness_mm)) continue;
    StatedQuantity at{.id = "thickness_at",
                      .value = stated_length(*depth.thickness_mm),
                      .depth_mm = depth.depth_mm,
                      .budget = stated_budget(*depth.thickness_mm, QuantityKind::length)};
    add_length(at.beside, "half_left", depth.half_left_mm);
    add_length(at.beside, "half_right", depth.half_right_mm);
    add_length(at.beside, "asymmetry", depth.asymmetry_mm);
    quantities.push_back(std::move(at));
  }
}

void add_wheel(std::vector<StatedQuantity>& quantities, const char* id, const SectionSide& side) {
  StatedQuantity* radius = find_in(quantities, id);
  if (radius == nullptr) return;
  radius->more.add_number("low", side.hollow_radius_low_mm, 3);
  radius->more.add_number("high", side.hollow_radius_high_mm, 3);
}

void add_depth(std::vector<StatedQuantity>& quantities, const char* id, double depth_mm) {
  if (StatedQuantity* quantity = find_in(quantities, id)) quantity->more.add_mm("depth", depth_mm);
}

std::vector<StatedQuantity> choil_quantities_of(const ChoilResult& result) {
  std::vector<StatedQuantity> all = stated(choil_quantities(result), note_of(result));
  add_thicknesses(all, result);
  add_wheel(all, "hollow_radius_left", result.left);
  add_wheel(all, "hollow_radius_right", result.right);
  add_depth(all, "asymmetry", result.asymmetry_depth_mm);
  add_depth(all, "edge_thickness", result.edge_depth_mm);
  return all;
}

Facts axis_facts(const ChoilResult& result) {
  const Stated lean = stated_angle(result.axis_lean_rad);
  Facts facts;
  facts.add_text("from", std::string(name(result.axis_from)));
  facts.add_part("lean", Facts()
                             .add_number("value", lean.value, 5)
                             .add_number("u", lean.u, 5)
                             .add_number("U95", lean.U95, 5));
  facts.add_list("edge_px", {result.edge_px.x(), result.edge_px.y()}, 3);
  if (result.flats_to_mm > 0.0) {
    facts.add_mm("flats_from", result.flats_from_mm).add_mm("flats_to", result.flats_to_mm);
  }
  return facts;
}

Facts choil_quality_facts(const ChoilResult& result) {
  return look_facts(result.scale_px_per_mm, result.blur_px, result.camera_distance_mm)
      .add_number("clipped_share", result.clipped_share, 4);
}

Facts choil_settings_facts(const ChoilSettings& with, const ReportSettings& settings) {
  Facts facts;
  facts.add_list("at", with.at_mm).add_mm("angle_from", with.angle_from_mm);
  facts.add_mm("angle_to", with.angle_to_mm).add_mm("thickness", with.thickness_mm);
  add_display(facts, settings);
  return facts;
}

Facts found_facts(const ChoilResult& result) {
  Facts facts;
  facts.add_part("shape", Facts()
                              .add_text("left", std::string(name(result.left.shape)))
                              .add_text("right", std::string(name(result.right.shape))));
  facts.add_part("range",
                 Facts().add_mm("from", result.range_from_mm).add_mm("to", result.range_to_mm));
  return facts.add_part("axis", axis_facts(result));
}

/// The stock's thickness, seen between the flats, has checked the print as well.
std::vector<Remark> choil_photo_advice(const ChoilResult& result, const ChoilSettings& with,
                                       bool lens_guessed) {
  std::vector<Remark> all;
  if (auto calibrate = calibrate_first(result, lens_guessed)) all.push_back(std::move(*calibrate));
  add_new(all, result.advice);
  if (with.thickness_mm && result.stock_thickness_mm) return all;
  return with_bar_to_check(std::move(all), with.print, CardKind::heel);
}

}  // namespace

Statement choil_statement(const ChoilResult& result, const ChoilSettings& measured_with,
                          const Photo& photo, const CameraModel& camera,
                          const ReportSettings& settings) {
  Statement statement = new_statement("choil", settings);
  statement.glance = choil_glance(result, settings);
  statement.verdict = name(choil_verdict(result, settings));
  statement.quantities = choil_quantities_of(result);
  statement.along = "depth";
  statement.stations = choil_stations_of(result);
  statement.columns = choil_columns();
  statement.charts = {asymmetry_chart(result), halves_chart()};
  statement.declared = choil_declared(statement.quantities);
  statement.more = found_facts(result);
  statement.advice = all_advice(choil_advice(result, settings.tolerance_mm),
                                choil_photo_advice(result, measured_with, camera.guessed));
  statement.warnings = all_warnings(result.warnings, std::array{&photo});
  Provenance& from = statement.provenance;
  from.photos = {stated_photo(photo)};
  from.photo_quality = choil_quality_facts(result);
  from.camera = camera_facts(camera);
  from.card = card_facts(CardKind::heel, result.pose, result.corners_found, measured_with.print);
  from.settings = choil_settings_facts(measured_with, settings);
  return statement;
}

}  // namespace evenbevel
