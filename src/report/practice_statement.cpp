#include <array>

#include "evenbevel/practice_report.hpp"
#include "report/practice_words.hpp"
#include "report/statement_pieces.hpp"
#include "report/verdict.hpp"

namespace evenbevel {
namespace {

constexpr const char* kPrintedOffset = "printed_offset";
constexpr QuantityName kOffset{"centreline_offset", "offset", QuantityKind::signed_length};
constexpr QuantityName kPrinted{kPrintedOffset, "printed", QuantityKind::signed_length};

std::vector<Quantity> practice_quantities(const PracticeResult& result) {
  std::vector<Quantity> all;
  for (const PracticeCheck& check : result.checks) {
    if (measured(check.measured_mm)) all.push_back({name_of(check.kind), check.measured_mm});
  }
  return all;
}

InUnits note_in_units(const PracticeCheck& check) {
  return in_units([&](LengthUnit unit) { return practice_note(check, unit); });
}

std::vector<StatedQuantity> practice_quantities_of(const PracticeResult& result) {
  std::vector<StatedQuantity> all = stated(practice_quantities(result));
  for (const PracticeCheck& check : result.checks) {
    StatedQuantity* quantity = find_in(all, name_of(check.kind).name);
    if (quantity == nullptr) continue;
    quantity->note = note_in_units(check);
    quantity->more.add_mm("printed", check.printed_mm).add_mm("off", check.difference_mm());
  }
  return all;
}

Glance practice_glance(const PracticeResult& result) {
  Glance glance{
      .headline = in_units([&](LengthUnit unit) { return practice_headline(result, unit); }),
      .title = "practice strip"};
  for (const PracticeCheck& check : result.checks) {
    const QuantityName& name = name_of(check.kind);
    glance.rows.push_back(
        glance_row(name.label, name.kind, check.measured_mm, note_in_units(check)));
  }
  glance.verdict =
      in_units([&](LengthUnit unit) { return practice_verdict_sentence(result, unit); });
  glance.origin = "x = 0 in the middle of the strip, x grows to the tip";
  glance.how_to_read = {
      "Printed is what the page says; the strip is read and its intervals are made as a blade's "
      "with scribed lines are. Inside: the interval holds the printed number.",
      "U95: the true value lies within this much of the read one, 95 times in 100. Of seven "
      "numbers that hold to that, one lies outside in a photo now and then: take a second photo "
      "before you blame anything.",
      "What the strip can show: light or a picture chain that moves borders, a soft photo, bent "
      "paper, ink that spreads, a sign or a face the wrong way round.",
      "What it cannot show: a page that is printed small shrinks strip and pattern alike, and no "
      "photo of it tells. Only the bar under the pattern does, measured with calipers "
      "(--printed-bar); a gauge of known width in the jaws ('evenbevel study --known') does the "
      "same for the edge card.",
      "Nor heights: all of it lies in the card's own plane, so that where the camera stands and "
      "how long its lens is, which move a blade's edge against its flats, hardly play a part.",
      "What it leaves out: steel. Broken corners, glare, burrs, and plunge lines with a fillet "
      "make a blade's intervals wider than these."};
  return glance;
}

StatedTable checks_table(const PracticeResult& result) {
  StatedTable table{.name = "checks",
                    .title = "Printed and read",
                    .columns = {{"quantity", "number"},
                                {"printed", "printed"},
                                {"read", "read", QuantityKind::signed_length},
                                {"off", "off by", QuantityKind::signed_length},
                                {"finding", "in its interval?"}}};
  for (const PracticeCheck& check : result.checks) {
    StatedPlace& place = table.places.emplace_back();
    place.at.add_text("quantity", name_of(check.kind).name).add_mm("printed", check.printed_mm);
    place.at.add_text("finding", check.inside() ? "inside" : "outside");
    add_length(place.quantities, "read", check.measured_mm);
    add_length(place.quantities, "off",
               Measured{check.difference_mm(), check.measured_mm.u, check.measured_mm.dof,
                        check.measured_mm.budget});
  }
  return table;
}

std::vector<StatedStation> practice_stations_of(const PracticeResult& result,
                                                const PrintScale& print) {
  std::vector<StatedStation> all;
  for (const EdgeStation& station : result.as_blade.stations) {
    StatedStation& one = all.emplace_back(StatedStation{.at_mm = rounded(station.x_mm, 5)});
    if (!measured(station.centreline_offset_mm)) continue;
    if (station.px.allFinite()) one.places = {{.px = station.px}};
    add_length(one.quantities, kOffset.name, station.centreline_offset_mm);
    add_length(one.quantities, kPrintedOffset, Measured{printed_offset_mm(station.x_mm, print)});
    one.residual_px = station.residual_px;
  }
  return all;
}

std::vector<StationColumn> practice_columns() {
  std::vector<StationColumn> all;
  add_place_column(all, "", "");
  add_column(all, kOffset);
  add_column(all, kPrinted);
  all.push_back({.kind = StationColumn::Kind::residual});
  return all;
}

StatedChart practice_chart() {
  return {.title = "Offset along the strip",
          .name = "Offset read along the strip with its 95 percent interval, and the printed one",
          .y_name = "down: toward the left face",
          .curves = {{kOffset.name, "read"}, {kPrintedOffset, "printed"}},
          .zero = "middle of the rims",
          .plus_down = true};
}

std::vector<DeclaredQuantity> practice_declared() {
  std::vector<DeclaredQuantity> all = declared(practice_quantity_names());
  all.push_back({kOffset.name, kOffset.label, kOffset.kind});
  all.push_back({kPrinted.name, kPrinted.label, kPrinted.kind});
  return all;
}

Facts chain_facts(const PracticeResult& result) {
  return Facts()
      .add_count("stations", result.stations)
      .add_count("stations_inside", result.stations_inside)
      .add_mm("offset_rms", result.offset_rms_mm)
      .add_mm("paper_bend", result.bend_mm)
      .add_mm("paper_bend_u", result.bend_u_mm);
}

}  // namespace

Verdict practice_verdict(const PracticeResult& result) {
  return result.holds() ? Verdict::within : Verdict::outside;
}

Statement practice_statement(const PracticeResult& result, const PracticeSettings& measured_with,
                             const Photo& photo, const CameraModel& camera,
                             const ReportSettings& settings) {
  const EdgeResult& blade = result.as_blade;
  Statement statement = new_statement("practice", settings);
  statement.glance = practice_glance(result);
  statement.verdict = name(practice_verdict(result));
  statement.quantities = practice_quantities_of(result);
  statement.stations = practice_stations_of(result, measured_with.print);
  statement.columns = practice_columns();
  statement.charts = {practice_chart()};
  statement.tables = {checks_table(result)};
  statement.declared = practice_declared();
  statement.more.add_part("chain", chain_facts(result));
  statement.advice =
      all_advice(practice_advice(result),
                 with_bar_to_check(blade.advice, measured_with.print, CardKind::edge));
  statement.warnings = all_warnings(blade.warnings, std::array{&photo});
  Provenance& from = statement.provenance;
  from.photos = {stated_photo(photo)};
  from.photo_quality = look_facts(blade.scale_px_per_mm, blade.blur_px, blade.camera_distance_mm);
  from.camera = camera_facts(camera);
  from.card = card_facts(CardKind::edge, *blade.pose, blade.corners_found, measured_with.print);
  add_display(from.settings, settings);
  return statement;
}

}  // namespace evenbevel
