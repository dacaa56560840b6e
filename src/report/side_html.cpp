#include <algorithm>

#include "advice/bevel_zones.hpp"
#include "evenbevel/advice.hpp"
#include "evenbevel/side_report.hpp"
#include "evenbevel_version.hpp"
#include "report/chart.hpp"
#include "report/page.hpp"
#include "report/side_quantities.hpp"
#include "report/side_words.hpp"
#include "report/statement_pieces.hpp"
#include "report/verdict.hpp"

namespace evenbevel {
namespace {

std::string summary(const SideResult& result, const ReportSettings& settings) {
  const std::string table =
      summary_table(measured_of(side_quantities(), result),
                    [&](const Quantity& q, LengthUnit unit) { return side_note(q, result, unit); });
  const InUnits verdict = in_units([&](LengthUnit unit) {
    return sentence("verdict: " + side_verdict_sentence(result, in_unit(settings, unit)));
  });
  return table + "<p class=\"quiet\">" + escaped(sentence(left_and_right())) + " " +
         escaped(sentence(side_origin_sentence(result))) + "</p>\n<p>" + escaped(verdict) +
         "</p>\n";
}

std::string difference_chart(const SideResult& result, const ReportSettings& settings) {
  Chart chart{.name =
                  "Bevel height difference along the blade, left minus right, with its 95 percent "
                  "interval",
              .x_name = "x to the tip",
              .y_name = "up: left bevel line higher",
              .curves = {"left - right"},
              .kind = QuantityKind::signed_length,
              .slots = {},
              .tolerance_mm = settings.tolerance_mm,
              .around_zero = true,
              .zero_words = "no difference"};
  for (const SideStation& station : result.stations) {
    chart.slots.push_back({station.x_mm, {station.bevel_height_difference_mm}});
  }
  if (measured(result.bevel_height_difference_worst_mm)) chart.worst_x_mm = result.worst_x_mm;
  return chart_html(chart);
}

std::string height_chart(const SideResult& result) {
  Chart chart{.name = "Bevel height along the blade, left and right, with 95 percent intervals",
              .x_name = "x to the tip",
              .y_name = "bevel height",
              .curves = {"left", "right"},
              .slots = {}};
  for (const SideStation& station : result.stations) {
    chart.slots.push_back(
        {station.x_mm, {station.left.bevel_height_mm, station.right.bevel_height_mm}});
  }
  return chart_html(chart);
}

std::string plunge_table(const SideResult& result) {
  std::vector<std::vector<std::string>> rows;
  rows.reserve(result.plunges.size());
  for (const PlungeAtHeight& plunge : result.plunges) {
    rows.push_back({position_cell(plunge.z_mm),
                    number_cell(plunge.left_mm, QuantityKind::signed_length),
                    number_cell(plunge.right_mm, QuantityKind::signed_length),
                    number_cell(plunge.mismatch_mm, QuantityKind::signed_length)});
  }
  return plain_table({"height", "x, left", "x, right", "left - right"}, rows);
}

std::string places_table(const SideResult& result) {
  std::vector<std::vector<std::string>> rows;
  rows.reserve(result.bevel_at.size());
  for (const BevelAtPlace& at : result.bevel_at) {
    rows.push_back({position_cell(at.asked.distance_mm),
                    std::string("<td>") + (at.asked.from_tip ? "tip" : "plunge line") + "</td>",
                    position_cell(at.x_mm), number_cell(at.left_mm, QuantityKind::length),
                    number_cell(at.right_mm, QuantityKind::length),
                    number_cell(at.difference_mm, QuantityKind::signed_length)});
  }
  return plain_table({"distance", "from", "x", "bevel height, left", "right", "left - right"},
                     rows);
}

bool shown(const SideResult& result, Face face, std::optional<Measured> FaceStation::*member) {
  return std::any_of(result.stations.begin(), result.stations.end(), [&](const SideStation& s) {
    return measured(station_on(s, face).*member).has_value();
  });
}

std::vector<std::string> station_head(const SideResult& result) {
  std::vector<std::string> head = {"x"};
  for (const auto& quantity : face_quantities()) {
    for (const Face face : kFaces) {
      if (!shown(result, face, quantity.member)) continue;
      head.push_back(std::string(quantity.label) + ", " + std::string(name(face)));
    }
  }
  for (const auto& quantity : side_station_quantities()) head.emplace_back(quantity.label);
  return head;
}

std::string station_table(const SideResult& result) {
  std::vector<std::vector<std::string>> rows;
  for (const SideStation& station : result.stations) {
    std::vector<std::string> row = {position_cell(station.x_mm)};
    for (const auto& quantity : face_quantities()) {
      for (const Face face : kFaces) {
        if (!shown(result, face, quantity.member)) continue;
        row.push_back(number_cell(station_on(station, face).*quantity.member, quantity.kind));
      }
    }
    for (const auto& quantity : side_station_quantities()) {
      row.push_back(number_cell(station.*quantity.member, quantity.kind));
    }
    rows.push_back(row);
  }
  return stations_folded(plain_table(station_head(result), rows), result.stations.size());
}

std::string words_cell(const InUnits& words) { return "<td>" + escaped(words) + "</td>"; }

std::string zone_table(const SideResult& result, const ReportSettings& settings) {
  std::vector<std::vector<std::string>> rows;
  for (const BevelZone& zone : bevel_zones(result, settings.tolerance_mm)) {
    if (!zone.grind) continue;
    rows.push_back({"<th scope=\"row\">" + std::string(name(*zone.grind)) + "</th>",
                    words_cell(in_units([&](LengthUnit unit) {
                      return printed_position_number(zone.from_mm, unit) + " to " +
                             printed_position(zone.to_mm, unit);
                    })),
                    words_cell(sentence(come_up_remark(zone))),
                    words_cell(in_units([&](LengthUnit unit) {
                      return "U95 " + printed_length(zone.most_mm, unit).U95;
                    }))});
  }
  return plain_table({"face", "x", "bevel line up by", ""}, rows);
}

/// "bevel_height_left at 20.000 mm from the tip", of a place's budget, in words and both units.
InUnits place_in_words(const std::string& quantity) {
  std::string words = quantity;
  std::replace(words.begin(), words.end(), '_', ' ');
  constexpr std::string_view kAt = " at ", kMm = " mm";
  const std::size_t at = words.find(kAt), mm = words.find(kMm);
  if (at == std::string::npos || mm == std::string::npos) return words;
  const double distance_mm = std::strtod(words.c_str() + at + kAt.size(), nullptr);
  return in_units([&](LengthUnit unit) {
    return words.substr(0, at + kAt.size()) + format_length(distance_mm, unit) +
           words.substr(mm + kMm.size());
  });
}

std::string how_to_read() {
  return list(std::vector<std::string>{
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
      "plunge "
      "mismatch. Where it holds both sides of the tolerance, these photos cannot tell, and say so.",
      "In the picture the right face is mirrored, so that like lies over like."});
}

std::string face_facts(const FaceLook& look) {
  return fact("card, " + std::string(name(look.face)) + " face",
              "side card, " + std::to_string(look.pose.corners) + " corners used of " +
                  std::to_string(look.corners_found) + " found; bevel line seen over " +
                  percent(look.bevel_coverage));
}

std::string outline_fact(const OutlineFit& fit) {
  return fact("outlines laid over each other", in_units([&](LengthUnit unit) {
                return format_length(fit.rms_mm, unit) + " apart (RMS), " +
                       format_length(fit.worst_mm, unit) + " at most";
              }));
}

std::string provenance(const SideResult& result, const SideSettings& with,
                       std::span<const FacePhoto> photos, const ReportSettings& settings) {
  std::string rows = fact("program", "evenbevel " EVENBEVEL_VERSION);
  rows += fact("command", settings.command_line);
  for (const FacePhoto& photo : photos) {
    rows += fact(std::string(name(photo.face)) + " photo", photo.photo->name);
  }
  if (!photos.empty()) rows += fact("camera", camera_words(*photos.front().camera));
  for (const FaceLook& look : result.faces) rows += face_facts(look);
  if (result.outlines) rows += outline_fact(*result.outlines);
  rows += fact("stock thickness", in_units([&](LengthUnit unit) {
                 return format_length(with.thickness_mm, unit) + ", u " +
                        format_length(with.thickness_u_mm, unit);
               }));
  if (with.tip_thickness_mm) {
    rows += fact("thickness at the tip", length_in_units(*with.tip_thickness_mm));
  }
  if (with.land_mm) rows += fact("land", length_in_units(*with.land_mm));
  rows += fact("stations every", length_in_units(with.step_mm));
  if (settings.tolerance_mm) rows += fact("tolerance", length_in_units(*settings.tolerance_mm));
  return facts(rows);
}

PageHead head_of(const SideResult& result, std::span<const FacePhoto> photos,
                 const ReportSettings& settings) {
  PageHead head{.verdict = side_verdict(result, settings),
                .headline = in_units([&](LengthUnit unit) {
                  return side_headline(result, in_unit(settings, unit));
                }),
                .what = sentence(side_view_words(result)),
                .photos = {},
                .unit = settings.unit};
  for (const FacePhoto& photo : photos) head.photos.push_back(photo.photo->name);
  return head;
}

std::vector<InUnits> warnings_of(const SideResult& result, std::span<const FacePhoto> photos) {
  std::vector<const Photo*> pictures;
  pictures.reserve(photos.size());
  for (const FacePhoto& face : photos) pictures.push_back(face.photo);
  return sentences(all_warnings(result.warnings, pictures));
}

}  // namespace

std::string side_html(const SideResult& result, const SideSettings& measured_with,
                      std::span<const FacePhoto> photos, const ReportSettings& settings,
                      const std::vector<uchar>& picture_jpeg) {
  const std::vector<InUnits> advice = blade_advice(result, settings);
  const bool both = result.faces.size() > 1;
  std::string main = "<p class=\"first\">" + escaped(advice.front()) + "</p>\n";
  main += sheet(
      summary(result, settings) + section("Warnings", list(warnings_of(result, photos))),
      figure("The blade's faces one above the other, the right one mirrored, with edge, spine, "
             "bevel line and plunge line, then the lines of both over each other. The numbers are "
             "in the tables of this page.",
             picture_jpeg, settings.unit),
      (both ? section("Bevel height difference", difference_chart(result, settings)) : "") +
          section("Bevel height", height_chart(result)) +
          (result.bevel_at.empty()
               ? ""
               : section("Bevel height where it was asked for", places_table(result))));
  main += section("What to do", list(advice));
  main += section("Where to grind", zone_table(result, settings), kScreenOnly);
  main += section("Plunge lines", plunge_table(result), kScreenOnly);
  main += section("A better photo", list(sentences(result.advice)), kScreenOnly);
  main += section("How to read it", how_to_read(), kScreenOnly);
  main +=
      section("Where the uncertainty comes from",
              budget_html(result.budget, names_of(side_quantities()), place_in_words), kScreenOnly);
  main += section("Stations", station_table(result), kScreenOnly);
  main += section("How it was measured", provenance(result, measured_with, photos, settings));
  return page_html(head_of(result, photos, settings), main + cautions_html());
}

}  // namespace evenbevel
