#include <array>
#include <cstdlib>
#include <string_view>

#include "evenbevel/advice.hpp"
#include "evenbevel/choil_report.hpp"
#include "evenbevel_version.hpp"
#include "report/chart.hpp"
#include "report/choil_quantities.hpp"
#include "report/choil_words.hpp"
#include "report/page.hpp"
#include "report/statement_pieces.hpp"
#include "report/verdict.hpp"

namespace evenbevel {
namespace {

std::string depth_table(const std::vector<ChoilDepth>& depths) {
  std::vector<std::string> head = {"depth"};
  for (const auto& quantity : depth_quantities()) head.emplace_back(quantity.label);
  std::vector<std::vector<std::string>> rows;
  for (const ChoilDepth& depth : depths) {
    std::vector<std::string> row = {position_cell(depth.depth_mm)};
    for (const auto& quantity : depth_quantities()) {
      row.push_back(number_cell(depth.*quantity.member, quantity.kind));
    }
    rows.push_back(row);
  }
  return plain_table(head, rows);
}

std::string summary(const ChoilResult& result, const ReportSettings& settings) {
  const std::string table = summary_table(
      choil_quantities(result),
      [&](const Quantity& q, LengthUnit unit) { return choil_note(q, result, unit); });
  const InUnits verdict = in_units([&](LengthUnit unit) {
    return sentence("verdict: " + choil_verdict_sentence(result, in_unit(settings, unit)));
  });
  const InUnits range =
      in_units([&](LengthUnit unit) { return sentence(range_sentence(result, unit)); });
  return table + "<p class=\"quiet\">" + escaped(sentence(left_and_right())) + " " +
         escaped(range) + "</p>\n<p>" + escaped(verdict) + "</p>\n";
}

std::string half_chart(const ChoilResult& result) {
  Chart chart{.name =
                  "Left and right half of the section against the depth behind the edge, with "
                  "95 percent intervals",
              .x_name = "depth behind the edge",
              .y_name = "from the axis",
              .x_word = "depth",
              .curves = {"left half", "right half"},
              .slots = {}};
  for (const ChoilDepth& depth : choil_stations(result)) {
    chart.slots.push_back({depth.depth_mm, {depth.half_left_mm, depth.half_right_mm}});
  }
  return chart_html(chart);
}

std::string asymmetry_chart(const ChoilResult& result, const ReportSettings& settings) {
  Chart chart{.name =
                  "Asymmetry, left half minus right half, against the depth behind the edge, "
                  "with its 95 percent interval",
              .x_name = "depth behind the edge",
              .y_name = "up: left half thicker",
              .x_word = "depth",
              .curves = {"left - right half"},
              .kind = QuantityKind::signed_length,
              .slots = {},
              .tolerance_mm = settings.tolerance_mm,
              .around_zero = true,
              .zero_words = "symmetric"};
  for (const ChoilDepth& depth : choil_stations(result)) {
    chart.slots.push_back({depth.depth_mm, {depth.asymmetry_mm}});
  }
  if (measured(result.asymmetry_mm)) chart.worst_x_mm = result.asymmetry_depth_mm;
  return chart_html(chart);
}

/// "thickness_at_0.25" in words.
InUnits thickness_label(const std::string& quantity) {
  constexpr std::string_view kName = "thickness_at_";
  if (!quantity.starts_with(kName)) return as_named(quantity);
  const double depth_mm = std::strtod(quantity.c_str() + kName.size(), nullptr);
  return in_units([&](LengthUnit unit) {
    return "thickness " + trimmed_length(depth_mm, unit) + " behind the edge";
  });
}

std::string how_to_read() {
  return list(std::vector<std::string>{
      "Depth is the way from the edge toward the spine; the thickness at a depth is measured "
      "straight across.",
      "The halves are measured from the section's axis; the asymmetry is left half minus right "
      "half: plus where the left one is thicker. The largest over the range is stated.",
      "The angle of a side is that of the straight line fitted to it, against the axis. The bow is "
      "the height of its arc over that line: plus bulges out.",
      "A short arc tells little of its radius: the interval is wide then, and may have no upper "
      "end.",
      "U95: the true value lies within this much of the printed one, 95 times in 100.",
      "In the picture the dashed outline is the section's mirror image."});
}

std::string provenance(const ChoilResult& result, const ChoilSettings& with, const Photo& photo,
                       const CameraModel& camera, const ReportSettings& settings) {
  std::string rows = fact("program", "evenbevel " EVENBEVEL_VERSION);
  rows += fact("command", settings.command_line);
  rows += fact("photo", photo.name);
  rows += fact("camera", camera_words(camera));
  rows += fact("card", "heel card, " + std::to_string(result.pose.corners) + " corners used of " +
                           std::to_string(result.corners_found) + " found");
  if (with.thickness_mm) rows += fact("stock thickness", length_in_units(*with.thickness_mm));
  if (settings.tolerance_mm) rows += fact("tolerance", length_in_units(*settings.tolerance_mm));
  return facts(rows);
}

}  // namespace

std::string choil_html(const ChoilResult& result, const ChoilSettings& measured_with,
                       const Photo& photo, const CameraModel& camera,
                       const ReportSettings& settings, const std::vector<uchar>& picture_jpeg) {
  const std::vector<InUnits> advice = blade_advice(result, settings);
  const PageHead head{.verdict = choil_verdict(result, settings),
                      .headline = in_units([&](LengthUnit unit) {
                        return choil_headline(result, in_unit(settings, unit));
                      }),
                      .what = "Choil view.",
                      .photos = {photo.name},
                      .unit = settings.unit};
  const std::vector<Remark> warnings = all_warnings(result.warnings, std::array{&photo});
  std::string main = "<p class=\"first\">" + escaped(advice.front()) + "</p>\n";
  main += sheet(section("Behind the edge", depth_table(result.depths)) + summary(result, settings) +
                    section("Warnings", list(sentences(warnings))),
                figure("The blade's cross-section enlarged, edge up, with its outline, its mirror "
                       "image dashed over it and the thickness at several depths. The numbers are "
                       "in the tables of this page.",
                       picture_jpeg, settings.unit),
                section("Asymmetry", asymmetry_chart(result, settings)) +
                    section("Both halves", half_chart(result)));
  main += section("What to do", list(advice));
  main += section("A better photo", list(sentences(result.advice)), kScreenOnly);
  main += section("How to read it", how_to_read(), kScreenOnly);
  main += section("Where the uncertainty comes from",
                  budget_html(result.budget, choil_quantity_names(), thickness_label), kScreenOnly);
  main += section("The whole section",
                  stations_folded(depth_table(result.outline), result.outline.size()), kScreenOnly);
  main +=
      section("How it was measured", provenance(result, measured_with, photo, camera, settings));
  return page_html(head, main + cautions_html());
}

}  // namespace evenbevel
