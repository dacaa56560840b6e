#include <algorithm>
#include <array>
#include <cmath>

#include "evenbevel/advice.hpp"
#include "report/picture_parts.hpp"
#include "report/quantities.hpp"
#include "report/words.hpp"

namespace evenbevel {
namespace {

constexpr double kBanner = 130.0;

Colour verdict_colour(Verdict verdict) {
  switch (verdict) {
    case Verdict::within:
      return palette::kBlue;
    case Verdict::outside:
      return palette::kVermilion;
    case Verdict::unresolved:
      return palette::kOrange;
    case Verdict::none:
      break;
  }
  return palette::kGrey;
}

/// A shape beside the colour: tick, cross, question, dot.
void draw_sign(Canvas& canvas, Verdict verdict, cv::Point2d centre, double radius, Colour c) {
  const Pen pen{.colour = c, .width = 10.0};
  const double r = 0.5 * radius;
  canvas.circle(centre, radius, {.colour = c, .width = 6.0});
  if (verdict == Verdict::within) {
    canvas.line(std::array{centre + cv::Point2d(-r, 0), centre + cv::Point2d(-0.2 * r, 0.8 * r),
                           centre + cv::Point2d(r, -0.7 * r)},
                pen);
  } else if (verdict == Verdict::outside) {
    canvas.line(centre + cv::Point2d(-r, -r), centre + cv::Point2d(r, r), pen);
    canvas.line(centre + cv::Point2d(-r, r), centre + cv::Point2d(r, -r), pen);
  } else if (verdict == Verdict::unresolved) {
    canvas.text(centre + cv::Point2d(0, 0.5 * radius), "?",
                {.size = 1.4 * radius, .bold = true, .colour = c, .align = Align::centre});
  } else {
    canvas.circle(centre, 0.3 * radius, pen);
  }
}

double number_line(Canvas& canvas, double y, const std::string& label, const Printed& number,
                   const std::string& note, bool bold) {
  const Font font{.size = kBody + 4.0, .bold = bold};
  const Font quiet{.size = kBody, .colour = palette::kGrey};
  canvas.text({kMargin, y}, label, font);
  canvas.text({kMargin + 660.0, y}, number.value,
              {.size = font.size, .bold = true, .align = Align::right});
  canvas.text({kMargin + 690.0, y}, "U95 " + number.U95, quiet);
  canvas.text({kMargin + 1010.0, y}, note, quiet);
  return y + 1.36 * font.size;
}

double draw_numbers(Canvas& canvas, double y, const EdgeResult& result,
                    const ReportSettings& settings) {
  const LengthUnit unit = settings.unit;
  if (const auto worst = measured(result.centreline_offset_worst_mm)) {
    y = number_line(canvas, y, "worst offset", printed_length(*worst, unit, Sign::always),
                    "at x = " + printed_position(result.worst_x_mm, unit), true);
  }
  if (const auto mean = measured(result.centreline_offset_mm)) {
    y = number_line(canvas, y, "mean offset", printed_length(*mean, unit, Sign::always),
                    toward(*mean), true);
  }
  if (const auto gap = measured(result.line_gap_mm)) {
    y = number_line(canvas, y, "line gap", printed_length(*gap, unit), "", false);
  }
  if (const auto land = measured(result.land_width_mm)) {
    y = number_line(canvas, y, "land width", printed_length(*land, unit), "", false);
  }
  if (const auto plunge = measured(result.plunge_mismatch_mm)) {
    y = number_line(canvas, y, "plunge mismatch", printed_length(*plunge, unit, Sign::always),
                    "left - right", false);
  }
  return y;
}

struct LegendEntry {
  Pen pen;
  std::string text;
};

std::vector<LegendEntry> legend_entries(const EdgeResult& result, const ReportSettings& settings,
                                        const RowScales& scales) {
  const bool scribed = result.stage == Stage::scribed;
  std::vector<LegendEntry> entries = {
      {trace_pen(EdgeTrace::Kind::flat_left), "borders of the flats"},
      {trace_pen(EdgeTrace::Kind::land_left), scribed ? "scribe lines" : "borders of the land"},
      {mid_plane_pen(), "middle of the flats"},
      {offset_pen(), "offset, drawn " + factor_text(scales.offset_factor)},
      {{.colour = kBand.with_alpha(0.55), .width = 26.0}, "its 95 % interval"}};
  if (settings.tolerance_mm) {
    entries.push_back(
        {tolerance_pen(), "tolerance " + format_length(*settings.tolerance_mm, settings.unit)});
  }
  return entries;
}

}  // namespace

Pen trace_pen(EdgeTrace::Kind kind) {
  using Kind = EdgeTrace::Kind;
  const Colour casing = palette::kInk.with_alpha(0.7);
  if (kind == Kind::flat_left || kind == Kind::flat_right) {
    return {.colour = palette::kSkyBlue, .width = 3.0, .casing = casing};
  }
  return {
      .colour = palette::kOrange, .width = 3.0, .style = LineStyle::long_dashed, .casing = casing};
}

Pen mid_plane_pen() {
  return {.colour = palette::kPurple,
          .width = 3.0,
          .style = LineStyle::dash_dot,
          .casing = palette::kInk.with_alpha(0.6)};
}

Pen offset_pen() { return {.colour = palette::kBlue, .width = 5.0}; }

Pen tolerance_pen() {
  return {.colour = palette::kVermilion, .width = 4.0, .style = LineStyle::dashed};
}

double draw_header(Canvas& canvas, const EdgeResult& result, const ReportSettings& settings) {
  const Verdict verdict = edge_verdict(result, settings);
  const Colour text_colour = verdict == Verdict::unresolved ? palette::kInk : palette::kPaper;
  canvas.fill({0, 0, kPageWidth, kBanner}, verdict_colour(verdict));
  draw_sign(canvas, verdict, {kMargin + 44.0, 0.5 * kBanner}, 42.0, text_colour);
  canvas.text({kMargin + 120.0, 0.5 * kBanner + 25.0}, verdict_headline(result, settings),
              {.size = 70.0, .bold = true, .colour = text_colour});
  const std::string what = result.pose
                               ? stage_words(result.stage)
                               : std::string("quick look, no card; ") + stage_words(result.stage);
  canvas.text({kPageWidth - kMargin, 0.5 * kBanner + 15.0}, what,
              {.size = kBody, .colour = text_colour, .align = Align::right});
  double y = draw_numbers(canvas, kBanner + 62.0, result, settings);
  const std::string advice =
      edge_advice(result, settings.wanted_land_mm, settings.tolerance_mm, settings.unit).front();
  y = canvas.paragraph({kMargin, y + 12.0}, kPageWidth - 2.0 * kMargin, advice,
                       {.size = kBody + 2.0, .bold = true});
  return std::ceil(y);
}

void draw_legend(Canvas& canvas, const Box& box, const EdgeResult& result,
                 const ReportSettings& settings, const RowScales& scales) {
  double y = box.y + 30.0;
  for (const LegendEntry& entry : legend_entries(result, settings, scales)) {
    canvas.line({box.x, y - 11.0}, {box.x + 100.0, y - 11.0}, entry.pen);
    canvas.text({box.x + 124.0, y}, entry.text, {.size = kSmall + 4.0});
    y += 54.0;
  }
  const Font small{.size = kSmall, .colour = palette::kGrey};
  const std::string how = "Across the blade drawn " + factor_text(scales.across_factor) +
                          " wider than along. Left and right are the knife's: edge down, tip " +
                          "away from you. " + origin_sentence(result) + ".";
  canvas.paragraph({box.x, y + 10.0}, box.width, how, small);
}

}  // namespace evenbevel
