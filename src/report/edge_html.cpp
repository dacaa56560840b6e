#include <algorithm>
#include <array>

#include "evenbevel/advice.hpp"
#include "evenbevel/report.hpp"
#include "evenbevel_version.hpp"
#include "report/chart.hpp"
#include "report/edge_check.hpp"
#include "report/edge_quantities.hpp"
#include "report/edge_words.hpp"
#include "report/page.hpp"
#include "report/statement_pieces.hpp"
#include "report/verdict.hpp"

namespace evenbevel {
namespace {

std::string summary(const EdgeResult& result, const ReportSettings& settings) {
  const std::string table =
      summary_table(measured_of(edge_quantities(), result),
                    [&](const Quantity& q, LengthUnit unit) { return edge_note(q, result, unit); });
  const InUnits verdict = in_units([&](LengthUnit unit) {
    return sentence("verdict: " + verdict_sentence(result, in_unit(settings, unit)));
  });
  return table + "<p class=\"quiet\">" + escaped(sentence(left_and_right())) + " " +
         escaped(sentence(origin_sentence(result))) + "</p>\n<p>" + escaped(verdict) + "</p>\n";
}

std::string offset_chart(const EdgeResult& result, const ReportSettings& settings) {
  Chart chart{.name = "Centreline offset along the blade with its 95 percent interval",
              .x_name = "x to the tip",
              .y_name = "up is toward the left face",
              .curves = {"offset"},
              .kind = QuantityKind::signed_length,
              .slots = {},
              .tolerance_mm = settings.tolerance_mm,
              .around_zero = true,
              .zero_words = "middle of the flats"};
  for (const EdgeStation& station : result.stations) {
    chart.slots.push_back({station.x_mm, {station.centreline_offset_mm}});
  }
  if (measured(result.centreline_offset_worst_mm)) chart.worst_x_mm = result.worst_x_mm;
  return chart_html(chart);
}

bool shown(const EdgeResult& result, const StationQuantity& quantity) {
  return std::any_of(result.stations.begin(), result.stations.end(), [&](const EdgeStation& s) {
    return measured(s.*quantity.member).has_value();
  });
}

std::string station_table(const EdgeResult& result) {
  std::vector<std::string> head = {"x"};
  for (const StationQuantity& quantity : station_quantities()) {
    if (shown(result, quantity)) head.emplace_back(quantity.label);
  }
  std::vector<std::vector<std::string>> rows;
  for (const EdgeStation& station : result.stations) {
    std::vector<std::string> row = {position_cell(station.x_mm)};
    for (const StationQuantity& quantity : station_quantities()) {
      if (!shown(result, quantity)) continue;
      row.push_back(number_cell(station.*quantity.member, quantity.kind));
    }
    rows.push_back(row);
  }
  return stations_folded(plain_table(head, rows), result.stations.size());
}

std::string how_to_read() {
  return list(std::vector<std::string>{
      "The centreline offset is the middle of the land, or of the two scribe lines, measured from "
      "the middle of the two flats at the same place. Plus is toward the left face.",
      "U95: the true value lies within this much of the printed one, 95 times in 100.",
      "A verdict looks at the whole interval of the worst place. Where it holds both sides of the "
      "tolerance, this photo cannot tell, and says so.",
      "The symmetry zone is twice the worst offset: the width that a drawing would state.",
      "In the picture, the dashed middle line is the middle of the flats as the camera sees it at "
      "the edge's height. Scales across the blade and of the offset are enlarged by the factors "
      "stated there."});
}

std::string card_words(const EdgeResult& result) {
  if (!result.pose) return "none (quick look): the thickness is the ruler";
  return "edge card, " + std::to_string(result.pose->corners) + " corners used of " +
         std::to_string(result.corners_found) + " found";
}

std::vector<std::string> photo_names(const EdgeResult& result, const Photo& photo) {
  if (result.photos.empty()) return {photo.name};
  std::vector<std::string> names;
  for (const EdgePhotoPart& part : result.photos) {
    names.push_back(part.photo + (part.turned ? " (turned)" : ""));
  }
  return names;
}

std::string joined(const std::vector<std::string>& names) {
  std::string all;
  for (const std::string& name : names) all += (all.empty() ? "" : ", ") + name;
  return all;
}

std::string provenance(const EdgeResult& result, const EdgeSettings& with, const Photo& photo,
                       const CameraModel& camera, const ReportSettings& settings) {
  std::string rows = fact("program", "evenbevel " EVENBEVEL_VERSION);
  rows += fact("command", settings.command_line);
  rows += fact("photo", joined(photo_names(result, photo)));
  rows += fact("camera", camera_words(camera));
  rows += fact("card", card_words(result));
  rows += fact("stock thickness", in_units([&](LengthUnit unit) {
                 return format_length(with.thickness_mm, unit) + ", u " +
                        format_length(with.thickness_u_mm, unit);
               }));
  rows += fact("stations every", length_in_units(with.step_mm));
  if (settings.tolerance_mm) rows += fact("tolerance", length_in_units(*settings.tolerance_mm));
  if (settings.wanted_land_mm) {
    rows += fact("wanted land", length_in_units(*settings.wanted_land_mm));
  }
  return facts(rows + fact("stations seen", percent(seen_share(result))));
}

}  // namespace

std::string edge_html(const EdgeResult& result, const EdgeSettings& measured_with,
                      const Photo& photo, const CameraModel& camera, const ReportSettings& settings,
                      const std::vector<uchar>& picture_jpeg) {
  const std::vector<InUnits> advice = blade_advice(result, settings);
  const PageHead head{.verdict = edge_verdict(result, settings),
                      .headline = in_units([&](LengthUnit unit) {
                        return edge_headline(result, in_unit(settings, unit));
                      }),
                      .what = sentence(view_words(result) + ", " + stage_words(result.stage)),
                      .photos = photo_names(result, photo),
                      .unit = settings.unit};
  const std::vector<Remark> warnings = all_warnings(result.warnings, std::array{&photo});
  std::string main = "<p class=\"first\">" + escaped(advice.front()) + "</p>\n";
  main += sheet(summary(result, settings) + section("Warnings", list(sentences(warnings))),
                figure("The blade's edge, straightened and enlarged, with its traces, middle line "
                       "and offset. The numbers are in the tables of this page.",
                       picture_jpeg, settings.unit),
                section("Offset along the blade", offset_chart(result, settings)));
  main += section("What to do", list(advice));
  main += section("A better photo", list(sentences(photo_advice(result, settings))), kScreenOnly);
  main += section("How to read it", how_to_read(), kScreenOnly);
  main += section("Where the uncertainty comes from",
                  budget_html(result.budget, names_of(edge_quantities())), kScreenOnly);
  main += section("Monte Carlo check", checks_html(result), kScreenOnly);
  main += section("Stations", station_table(result), kScreenOnly);
  main +=
      section("How it was measured", provenance(result, measured_with, photo, camera, settings));
  main += cautions_html();
  return page_html(head, main);
}

}  // namespace evenbevel
