#include <algorithm>
#include <array>
#include <cmath>

#include "evenbevel/practice_report.hpp"
#include "report/edge_picture_parts.hpp"
#include "report/practice_words.hpp"
#include "report/write_files.hpp"

namespace evenbevel {
namespace {

constexpr double kStripRow = 300.0, kPlaceHeight = 400.0, kGap = 24.0;

constexpr const char* kPracticePictureWords =
    "The practice strip along its length with the borders and lines that were read, and magnified "
    "where its numbers are printed. The numbers are in the tables of this page.";

/// Of the station nearest to a place; null: none was seen.
const EdgeStation* station_at(const EdgeResult& strip, double x_mm) {
  const EdgeStation* nearest = nullptr;
  for (const EdgeStation& station : strip.stations) {
    if (!station.centreline_offset_mm) continue;
    if (nearest == nullptr || std::abs(station.x_mm - x_mm) < std::abs(nearest->x_mm - x_mm)) {
      nearest = &station;
    }
  }
  return nearest;
}

void draw_whole_strip(Canvas& canvas, const Box& box, const BladeLine& line,
                      const PracticeResult& result, const Photo& photo) {
  constexpr double kShownMm = 7.0;  // across
  const EdgeResult& strip = result.as_blade;
  const double a = line.s_of_x(strip.stations.front().x_mm);
  const double b = line.s_of_x(strip.stations.back().x_mm);
  const double along = box.width / (std::abs(b - a) + 4.0);
  const double across = box.height / (kShownMm * strip.scale_px_per_mm);
  const StripView view{.box = box,
                       .s_from = std::min(a, b) - 2.0,
                       .t_from = 0.5 - 0.5 * box.height / across,
                       .along = along,
                       .across = across};
  draw_strip(canvas, view, line, strip, photo);
  canvas.text({box.x + 14.0, box.y + 38.0}, "RIGHT face", plate_font());
  canvas.text({box.x + 14.0, box.bottom() - 16.0}, "LEFT face", plate_font());
  canvas.text({box.right() - 14.0, box.y + 38.0}, "to the tip \u2192",
              plate_font(kSmall, Align::right));
}

/// A place of the strip, magnified alike along and across, with what was printed and read there.
void draw_place(Canvas& canvas, const Box& box, const BladeLine& line, const PracticeResult& result,
                const Photo& photo, double x_mm, PracticeCheckKind kind, LengthUnit unit) {
  constexpr double kShownMm = 4.6;
  const EdgeStation* station = station_at(result.as_blade, x_mm);
  const PracticeCheck* check = find(result.checks, kind);
  if (station == nullptr || check == nullptr) return;
  const Eigen::Vector2d middle = line.strip_of(station->px);
  const double zoom = box.height / (kShownMm * result.as_blade.scale_px_per_mm);
  const StripView view{.box = box,
                       .s_from = middle.x() + 0.5 - 0.5 * box.width / zoom,
                       .t_from = middle.y() + 0.5 - 0.5 * box.height / zoom,
                       .along = zoom,
                       .across = zoom};
  draw_strip(canvas, view, line, result.as_blade, photo);
  {
    const Clip clip(canvas, box);
    for (const Eigen::Vector2d& q : result.plunges_px) {
      canvas.circle(view.page(line.strip_of(q)), 12.0,
                    {.colour = palette::kVermilion, .width = 4.0});
    }
  }
  canvas.frame(box, {.width = 4.0});
  canvas.text({box.x, box.bottom() + 38.0}, name_of(kind).label, {.size = kSmall, .bold = true});
  canvas.text({box.x, box.bottom() + 76.0}, practice_note(*check, unit), {.size = kSmall});
}

/// Without what the legend of a number says of its sign.
std::string short_label(PracticeCheckKind kind) {
  const std::string label = name_of(kind).label;
  return label.substr(0, label.find(", left"));
}

double draw_head(Canvas& canvas, const PracticeResult& result, const ReportSettings& settings) {
  double y = draw_banner(canvas, {practice_verdict(result),
                                  practice_headline(result, settings.unit), "practice strip"});
  for (const PracticeCheck& check : result.checks) {
    const QuantityName& name = name_of(check.kind);
    y = draw_number(canvas, y, short_label(check.kind),
                    printed(name.kind, check.measured_mm, settings.unit),
                    practice_note(check, settings.unit), !check.inside());
  }
  return draw_advice(canvas, y, sentence(practice_advice(result).front(), settings.unit));
}

double draw_places(Canvas& canvas, double top, const BladeLine& line, const PracticeResult& result,
                   const Photo& photo, const ReportSettings& settings) {
  using enum PracticeCheckKind;
  const PracticeStrip strip;
  const double width = 0.5 * (kContentWidth - kGap), high = kPlaceHeight + 100.0;
  const auto box = [&](int column, int row) {
    return Box{kMargin + column * (width + kGap), top + row * high, width, kPlaceHeight};
  };
  draw_place(canvas, box(0, 0), line, result, photo, -strip.stated_at_mm, offset_handle,
             settings.unit);
  draw_place(canvas, box(1, 0), line, result, photo, 0.0, offset_middle, settings.unit);
  draw_place(canvas, box(0, 1), line, result, photo, strip.stated_at_mm, offset_tip, settings.unit);
  draw_place(canvas, box(1, 1), line, result, photo, strip.plunge_mm, plunge_mismatch,
             settings.unit);
  return top + 2.0 * high;
}

}  // namespace

AnnotatedPicture practice_picture(const PracticeResult& result, const Photo& photo,
                                  const ReportSettings& settings) {
  constexpr int kTallest = 4000;
  Canvas canvas(kPageWidth, kTallest, palette::kPaper);
  double top = std::ceil(draw_head(canvas, result, settings));
  const int head_height = static_cast<int>(top);
  const std::optional<BladeLine> line = BladeLine::through(result.as_blade, photo);
  if (!line) {
    const double bottom = draw_whole_photo(canvas, top, photo) + kMargin;
    return {canvas.picture(static_cast<int>(bottom)), head_height};
  }
  draw_whole_strip(canvas, {kMargin, top, kContentWidth, kStripRow}, *line, result, photo);
  top += kStripRow + kGap;
  top = std::ceil(draw_places(canvas, top, *line, result, photo, settings));
  const std::array<LegendEntry, 3> entries = {
      LegendEntry{trace_pen(EdgeTrace::Kind::flat_left), "rims"},
      LegendEntry{trace_pen(EdgeTrace::Kind::scribe_left), "lines"},
      LegendEntry{middle_pen(), "middle of the rims, from which offsets are read"}};
  top = draw_legend_entries(canvas, {kMargin, top, kContentWidth, 0.0}, entries);
  return {canvas.picture(static_cast<int>(std::ceil(top + 20.0))), head_height};
}

void write_practice_report(const PracticeResult& result, const PracticeSettings& measured_with,
                           const Photo& photo, const CameraModel& camera,
                           const ReportSettings& settings, const std::filesystem::path& folder) {
  const Statement statement = practice_statement(result, measured_with, photo, camera, settings);
  write_report(
      folder, report_contents(
                  statement, settings,
                  [&](const ReportSettings& with) { return practice_picture(result, photo, with); },
                  kPracticePictureWords));
}

}  // namespace evenbevel
