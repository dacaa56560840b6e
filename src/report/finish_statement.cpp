#include <algorithm>
#include <cmath>

#include "evenbevel/advice.hpp"
#include "evenbevel/finish_report.hpp"
#include "report/finish_quantities.hpp"
#include "report/statement_pieces.hpp"
#include "report/verdict.hpp"
#include "units/fixed.hpp"

namespace evenbevel {
namespace {

std::string finish_number(double value, int decimals) {
  const double least = 0.5 * std::pow(10.0, -decimals);
  const double shown = std::abs(value) < least ? 0.0 : value;  // Never "-0".
  return fixed(shown, decimals);
}

std::string on(const char* id, Face face) { return id + ("_" + std::string(name(face))); }

std::string range_words(const Between& per_cm2) {
  return finish_number(per_cm2.low, 2) + "-" + finish_number(per_cm2.high, 2);
}

/// As wide as the interval's wider half: it is not in the middle, and stands beside it.
Stated stated_density(const Between& per_cm2) {
  const double half = std::max(per_cm2.high - per_cm2.value, per_cm2.value - per_cm2.low);
  return {rounded(per_cm2.value, 5), rounded(0.5 * half, 5), rounded(half, 5)};
}

Stated stated_over_area(double value, double u) {
  return {rounded(value, 5), rounded(u, 5), rounded(1.96 * u, 5)};
}

constexpr const char* kChance = "chance of the count";

void add_density(std::vector<StatedQuantity>& quantities, Face face,
                 const ScratchDensity& density) {
  if (density.area_cm2 <= 0.0) return;
  StatedQuantity& count = quantities.emplace_back(
      StatedQuantity{.id = on("scratches", face), .value = stated_density(density.per_cm2)});
  // What is missed or none shifts the count's limits: one cause with its chance.
  count.budget = {{"chance of the count, lines missed or false", count.value.u}};
  count.note = "95 %: " + range_words(density.per_cm2) + "; " + std::to_string(density.count) +
               " found on " + finish_number(density.area_cm2, 1) + " cm2";
  count.more.add_number("low", density.per_cm2.low, 5).add_number("high", density.per_cm2.high, 5);
  count.more.add_count("count", density.count).add_number("area_cm2", density.area_cm2, 3);
  quantities.push_back({.id = on("scratch_length", face),
                        .value = stated_over_area(density.length_per_cm2, density.length_u),
                        .budget = {{kChance, rounded(density.length_u, 5)}}});
}

std::vector<StatedQuantity> finish_quantities(const FinishResult& result) {
  std::vector<StatedQuantity> all;
  for (const FinishFaceResult& face : result.faces) {
    add_density(all, face.face, face.density);
    if (face.families.empty()) continue;
    const ScratchFamily& most = face.families.front();
    StatedQuantity& direction = all.emplace_back(
        StatedQuantity{.id = on("scratch_direction", face.face),
                       .value = stated_angle(most.direction_rad),
                       .budget = stated_budget(most.direction_rad, QuantityKind::angle)});
    direction.note = std::string(direction_words(most.direction_rad.value));
    direction.more.add_count("count", most.count);
  }
  return all;
}

std::vector<DeclaredQuantity> finish_declared() {
  std::vector<DeclaredQuantity> all;
  for (const QuantityName& quantity : kFinishQuantities) {
    all.push_back({quantity.name, std::string(quantity.label), quantity.kind});
  }
  return all;
}

void add_rows(std::vector<Glance::Row>& rows, const FinishFaceResult& face) {
  const std::string of = ", " + std::string(name(face.face));
  const ScratchDensity& density = face.density;
  rows.push_back({.label = "scratches a cm2" + of,
                  .value = finish_number(density.per_cm2.value, 2),
                  .U95 = range_words(density.per_cm2),
                  .note = std::to_string(density.count) + " found on " +
                          finish_number(density.area_cm2, 1) + " cm2"});
  for (const ScratchFamily& family : face.families) {
    rows.push_back({.label = "direction" + of,
                    .value = finish_number(degrees(family.direction_rad.value), 0) + " deg",
                    .U95 = finish_number(degrees(U95(family.direction_rad)), 0) + " deg",
                    .note = std::to_string(family.count) + " of them, " +
                            std::string(direction_words(family.direction_rad.value))});
    if (rows.size() > 6) break;
  }
  if (face.smallest_mm) {
    rows.push_back(
        {.label = "narrowest" + of,
         .value = in_units([&](LengthUnit unit) { return format_length(*face.smallest_mm, unit); }),
         .U95 = "-",
         .note = "wide, twice as bright as the face"});
  }
  rows.push_back({.label = "judged" + of,
                  .value = percent(face.judged_share),
                  .U95 = "-",
                  .note = "of the face"});
}

std::string sentence_on(const FinishFaceResult& face, double limit) {
  return std::string(name(face.face)) + " face " + finish_number(face.density.per_cm2.value, 2) +
         " (" + range_words(face.density.per_cm2) + ") a cm2 against " + finish_number(limit, 2);
}

bool seen_enough(const FinishFaceResult& face) {
  constexpr double kMostOfIt = 0.7;  // Rims, bevel line and plunge line are never judged.
  return face.blind.empty() && face.judged_share >= kMostOfIt;
}

Verdict face_verdict(const FinishFaceResult& face, double limit) {
  if (face.density.area_cm2 <= 0.0) return Verdict::unresolved;
  if (face.density.per_cm2.low > limit) return Verdict::outside;
  return face.density.per_cm2.high <= limit && seen_enough(face) ? Verdict::within
                                                                 : Verdict::unresolved;
}

std::string verdict_sentence(const FinishResult& result, const ReportSettings& settings) {
  if (!settings.tolerance_per_cm2) return "none, no tolerance was given";
  const Verdict verdict = finish_verdict(result, settings);
  std::string words = verdict == Verdict::unresolved ? "not resolved" : std::string(name(verdict));
  const char* between = ": ";
  for (const FinishFaceResult& face : result.faces) {
    words += between + sentence_on(face, *settings.tolerance_per_cm2);
    if (!face.blind.empty()) words += ", and scratches of some directions could not have been seen";
    between = "; ";
  }
  return words;
}

std::string finish_headline(const FinishResult& result, const ReportSettings& settings) {
  std::string words =
      finish_verdict(result, settings) == Verdict::unresolved ? "NOT RESOLVED: " : "";
  const char* between = "";
  for (const FinishFaceResult& face : result.faces) {
    const bool none = face.scratches.empty();
    words += between +
             (none ? "NO SCRATCH FOUND"
                   : std::to_string(face.density.count) +
                         (face.density.count == 1 ? " SCRATCH LEFT" : " SCRATCHES LEFT")) +
             ", " + std::string(name(face.face));
    between = "; ";
  }
  return words;
}

std::vector<std::string> finish_how_to_read() {
  return {
      "Counted are straight grooves of 2 mm and more that run more than 20 degrees across the lay, "
      "the direction of the present grit's own scratches. Those along it cannot be told from them.",
      "The interval beside a count holds the true number 95 times in 100, of scratches at least as "
      "wide as the narrowest that could be seen: Garwood's limits for a Poisson count, with an "
      "allowance for those missed and for false ones.",
      "Directions are to the edge: 0 along the blade, 90 up and down, below 90 leaning to the tip "
      "going up, above 90 to the handle.",
      "A scratch shines where the lamp stands across it. Directions that no lamp place shows are "
      "named in the warnings; with such a gap nothing is called within a tolerance.",
      "Rims, bevel line and plunge line glint by themselves: half a millimetre beside them is not "
      "judged.",
      "In the pictures the tip is at the right."};
}

Glance finish_glance(const FinishResult& result, const ReportSettings& settings) {
  Glance glance{
      .headline = finish_headline(result, settings),
      .title = result.faces.size() > 1
                   ? std::string("finish view, both faces")
                   : "finish view, " + std::string(name(result.faces.front().face)) + " face",
      .verdict = verdict_sentence(result, settings),
      .origin = "x = 0 at the handle end of the blade, x grows to the tip",
      .how_to_read = finish_how_to_read()};
  for (const FinishFaceResult& face : result.faces) add_rows(glance.rows, face);
  return glance;
}

StatedTable zones_table(const FinishResult& result) {
  StatedTable table{.name = "zones",
                    .title = "Where",
                    .columns = {{"zone", "zone"},
                                {"from", "from x"},
                                {"to", "to x"},
                                {"count", "scratches"},
                                {"per_cm2", "a cm2"},
                                {"interval", "95 %"},
                                {"judged", "judged"}}};
  for (const FinishFaceResult& face : result.faces) {
    for (const FinishZone& zone : face.zones) {
      StatedPlace& place = table.places.emplace_back();
      place.at.add_text("face", std::string(name(face.face)));
      place.at.add_text("zone", zone.name + ", " + std::string(name(face.face)));
      place.at.add_mm("from", zone.from_x_mm).add_mm("to", zone.to_x_mm);
      place.at.add_mm("from_u", face.place_u_mm).add_mm("to_u", face.place_u_mm);
      place.at.add_count("count", zone.density.count);
      place.at.add_text("per_cm2", finish_number(zone.density.per_cm2.value, 2));
      place.at.add_text("interval", range_words(zone.density.per_cm2));
      place.at.add_text("judged", percent(zone.judged_share));
    }
  }
  return table;
}

std::string lamp_words(const LampLook& lamp) {
  if (!lamp.azimuth_rad) return "not told";
  const std::string words =
      finish_number(degrees(*lamp.azimuth_rad), 0) + " deg from the tip's side";
  return lamp.tick ? words + ", tick " + std::to_string(*lamp.tick) : words;
}

StatedTable lamps_table(const FinishResult& result) {
  StatedTable table{.name = "lamps",
                    .title = "What each lamp place saw",
                    .columns = {{"photo", "photo"},
                                {"lamp", "lamp stood"},
                                {"shows", "shows scratches that run"},
                                {"saw", "scratches that shone"}}};
  for (const FinishFaceResult& face : result.faces) {
    for (const LampLook& lamp : face.lamps) {
      StatedPlace& place = table.places.emplace_back();
      place.at.add_text("face", std::string(name(face.face)));
      place.at.add_text("photo", lamp.photo);
      place.at.add_text("lamp", lamp_words(lamp));
      if (lamp.shows) {
        place.at.add_text(
            "shows", finish_number(degrees(lamp.shows->from_rad), 0) + " to " +
                         finish_number(std::fmod(degrees(lamp.shows->to_rad), 180.0), 0) + " deg");
      }
      place.at.add_count("saw", lamp.saw);
    }
  }
  return table;
}

StatedTable scratches_table(const FinishResult& result) {
  StatedTable table{.name = "scratches",
                    .title = "Scratches",
                    .columns = {{"zone", "zone"},
                                {"from_x", "from x"},
                                {"from_z", "height"},
                                {"to_x", "to x"},
                                {"to_z", "height"},
                                {"length", "length"},
                                {"direction", "direction, deg"}}};
  for (const FinishFaceResult& face : result.faces) {
    for (const FoundScratch& scratch : face.scratches) {
      StatedPlace& place = table.places.emplace_back();
      place.at.add_text("face", std::string(name(face.face)));
      place.at.add_text("zone", scratch.zone + ", " + std::string(name(face.face)));
      place.at.add_mm("from_x", scratch.from_mm.x()).add_mm("from_z", scratch.from_mm.y());
      place.at.add_mm("to_x", scratch.to_mm.x()).add_mm("to_z", scratch.to_mm.y());
      place.at.add_mm("length", scratch.length_mm);
      for (const char* u : {"from_x_u", "from_z_u", "to_x_u", "to_z_u", "length_u"}) {
        place.at.add_mm(u, face.place_u_mm);
      }
      place.at.add_count("direction", std::lround(degrees(scratch.direction_rad)));
      place.at.add_number("over_noise", scratch.over_noise, 2);
    }
  }
  return table;
}

void add_station(std::vector<StatedStation>& stations, const FinishFaceResult& face,
                 const FinishStation& station) {
  const auto same = std::ranges::find_if(stations, [&](const StatedStation& one) {
    return std::abs(one.at_mm - station.x_mm) < 1e-6;
  });
  StatedStation& at =
      same != stations.end() ? *same : stations.emplace_back(StatedStation{.at_mm = station.x_mm});
  add_density(at.quantities, face.face, station.density);
}

std::vector<StatedStation> finish_stations(const FinishResult& result) {
  std::vector<StatedStation> all;
  for (const FinishFaceResult& face : result.faces) {
    for (const FinishStation& station : face.stations) add_station(all, face, station);
  }
  std::ranges::sort(all, {}, &StatedStation::at_mm);
  return all;
}

std::vector<StationColumn> finish_columns(const FinishResult& result) {
  std::vector<StationColumn> all;
  for (const FinishFaceResult& face : result.faces) {
    add_column(all, {"scratches", "scratches a cm2", QuantityKind::per_area}, name(face.face));
    add_column(all, {"scratch_length", "length a cm2", QuantityKind::length_per_area},
               name(face.face));
  }
  return all;
}

Facts face_facts(const FinishFaceResult& face) {
  Facts facts = look_facts(face.scale_px_per_mm, face.lamps.front().blur_px, 0.0);
  facts.add_number("judged_share", face.judged_share, 4);
  facts.add_number("face_area_cm2", face.face_area_cm2, 3);
  facts.add_mm("smallest", face.smallest_mm).add_mm("place_u", face.place_u_mm);
  for (const Lay& lay : face.lays) {
    Facts of;
    if (lay.direction_rad) of.add_number("direction", degrees(*lay.direction_rad), 1);
    of.add_number("coherence", lay.coherence, 3)
        .add_number("direction_ratio", lay.direction_ratio, 3);
    facts.add_part("lay_" + lay.surface, of);
  }
  return facts;
}

Provenance finish_provenance(Provenance from, const FinishResult& result,
                             const FinishSettings& with, std::span<const FinishPhoto> photos,
                             const ReportSettings& settings) {
  for (const FinishFaceResult& face : result.faces) {
    const std::string of(name(face.face));
    from.photo_quality.add_part(of, face_facts(face));
    const LampLook& best = face.lamps[static_cast<std::size_t>(face.best_lamp)];
    from.card.add_part(of, card_facts(CardKind::side, best.pose, best.corners_found, with.print));
  }
  for (const FinishPhoto& photo : photos) {
    from.photos.push_back(stated_photo(*photo.photo, name(photo.face)));
    if (from.camera.find(name(photo.face)) == nullptr)
      from.camera.add_part(std::string(name(photo.face)), camera_facts(*photo.camera));
  }
  from.settings.add_mm("thickness", with.thickness_mm)
      .add_mm("tip_thickness", with.tip_thickness_mm);
  from.settings.add_mm("step", with.step_mm);
  if (with.grit) from.settings.add_count("grit", *with.grit);
  if (with.grit_before) from.settings.add_count("grit_before", *with.grit_before);
  from.settings.add_number("tolerance_per_cm2", settings.tolerance_per_cm2, 5);
  add_display(from.settings, settings);
  return from;
}

}  // namespace

Verdict finish_verdict(const FinishResult& result, const ReportSettings& settings) {
  if (!settings.tolerance_per_cm2) return Verdict::none;
  bool within = true;
  for (const FinishFaceResult& face : result.faces) {
    const Verdict one = face_verdict(face, *settings.tolerance_per_cm2);
    if (one == Verdict::outside) return Verdict::outside;
    within = within && one == Verdict::within;
  }
  return within ? Verdict::within : Verdict::unresolved;
}

Statement finish_statement(const FinishResult& result, const FinishSettings& measured_with,
                           std::span<const FinishPhoto> photos, const ReportSettings& settings) {
  Statement statement = new_statement("finish", settings);
  statement.glance = finish_glance(result, settings);
  statement.x_origin = "handle_end";
  statement.verdict = name(finish_verdict(result, settings));
  statement.quantities = finish_quantities(result);
  statement.stations = finish_stations(result);
  statement.columns = finish_columns(result);
  statement.declared = finish_declared();
  statement.tables = {zones_table(result), lamps_table(result), scratches_table(result)};
  statement.advice =
      all_advice(finish_advice(result, settings.tolerance_per_cm2),
                 with_bar_to_check(result.advice, measured_with.print, CardKind::side));
  std::vector<const Photo*> pictures;
  for (const FinishPhoto& photo : photos) pictures.push_back(photo.photo);
  statement.warnings = all_warnings(result.warnings, pictures);
  statement.provenance =
      finish_provenance(std::move(statement.provenance), result, measured_with, photos, settings);
  return statement;
}

}  // namespace evenbevel
