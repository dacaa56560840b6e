#include "evenbevel/advice.hpp"
#include "report/edge_picture_parts.hpp"
#include "report/edge_quantities.hpp"
#include "report/edge_words.hpp"
#include "report/verdict.hpp"

namespace evenbevel {
namespace {

double draw_numbers(Canvas& canvas, double y, const EdgeResult& result,
                    const ReportSettings& settings) {
  const LengthUnit unit = settings.unit;
  if (const auto worst = measured(result.centreline_offset_worst_mm)) {
    y = draw_number(canvas, y, "worst offset", printed_length(*worst, unit, Sign::always),
                    "at x = " + printed_position(result.worst_x_mm, unit), true);
  }
  if (const auto mean = measured(result.centreline_offset_mm)) {
    y = draw_number(canvas, y, "mean offset", printed_length(*mean, unit, Sign::always),
                    toward(*mean), true);
  }
  if (const auto gap = measured(result.line_gap_mm)) {
    y = draw_number(canvas, y, "line gap", printed_length(*gap, unit), "", false);
  }
  if (const auto land = measured(result.land_width_mm)) {
    y = draw_number(canvas, y, "land width", printed_length(*land, unit), "", false);
  }
  if (const auto plunge = measured(result.plunge_mismatch_mm)) {
    y = draw_number(canvas, y, "plunge mismatch", printed_length(*plunge, unit, Sign::always),
                    "left - right", false);
  }
  return y;
}

std::vector<LegendEntry> legend_entries(const EdgeResult& result, const ReportSettings& settings,
                                        const RowScales& scales) {
  const bool scribed = result.stage == Stage::scribed;
  std::vector<LegendEntry> entries = {
      {trace_pen(EdgeTrace::Kind::flat_left), "borders of the flats"},
      {trace_pen(EdgeTrace::Kind::land_left), scribed ? "scribe lines" : "borders of the land"},
      {middle_pen(), "middle of the flats"},
      {offset_pen(), "offset, drawn " + factor_text(scales.offset_factor)},
      {{.colour = kBand.with_alpha(0.55), .width = 26.0}, "its 95 % interval"}};
  if (settings.tolerance_mm) {
    entries.push_back(
        {tolerance_pen(), "tolerance " + format_length(*settings.tolerance_mm, settings.unit)});
  }
  return entries;
}

}  // namespace

Stroke trace_pen(EdgeTrace::Kind kind) {
  using Kind = EdgeTrace::Kind;
  const Colour casing = palette::kInk.with_alpha(0.7);
  if (kind == Kind::flat_left || kind == Kind::flat_right) {
    return {.colour = palette::kSkyBlue, .width = 3.0, .casing = casing};
  }
  return {
      .colour = palette::kOrange, .width = 3.0, .style = LineStyle::long_dashed, .casing = casing};
}

Stroke offset_pen() { return {.colour = palette::kBlue, .width = 5.0}; }

double draw_header(Canvas& canvas, const EdgeResult& result, const ReportSettings& settings) {
  const Verdict verdict = edge_verdict(result, settings);
  const std::string what = result.pose
                               ? stage_words(result.stage)
                               : std::string("quick look, no card; ") + stage_words(result.stage);
  double y = draw_banner(canvas, {verdict, edge_headline(result, settings), what});
  y = draw_numbers(canvas, y, result, settings);
  const std::vector<Remark> advice =
      edge_advice(result, settings.wanted_land_mm, settings.tolerance_mm);
  return draw_advice(canvas, y, sentence(advice.front(), settings.unit));
}

void draw_legend(Canvas& canvas, const Box& box, const EdgeResult& result,
                 const ReportSettings& settings, const RowScales& scales) {
  const double y = draw_legend_entries(canvas, box, legend_entries(result, settings, scales));
  const Font small{.size = kSmall, .colour = palette::kGrey};
  const std::string how = "Across the blade drawn " + factor_text(scales.across_factor) +
                          " wider than along; tip at the right, left face below. Left and right " +
                          "are the knife's: edge down, tip away from you. " +
                          origin_sentence(result) +
                          ". The ribbons say what each face has still to lose, across the land "
                          "as seen from above.";
  canvas.paragraph({box.x, y}, box.width, how, small);
}

}  // namespace evenbevel
