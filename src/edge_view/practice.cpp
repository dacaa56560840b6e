#include <algorithm>
#include <cmath>
#include <utility>

#include "blade_reading.hpp"
#include "border/light_bias.hpp"
#include "edge_result.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/practice_view.hpp"
#include "lane_picture.hpp"
#include "law_check.hpp"
#include "placement.hpp"
#include "refusals.hpp"
#include "summary.hpp"

namespace evenbevel {
namespace {

using namespace edge;

/// The strip as this print has it: longer or shorter along the page and across, by the bar.
struct PrintedStrip {
  PracticeStrip nominal = {};
  PrintScale print = {};

  double along(double mm) const { return mm * print.along; }
  double across(double mm) const { return mm * print.across; }
};

/// Marks lie where the strip has them, if the drawing is this one.
void require_strip(const cv::Mat& grey, const SeenCard& seen, const PrintedStrip& strip) {
  constexpr double kNearMm = 3.0;
  for (const PracticeMark& mark : find_practice_marks(grey)) {
    const double x_mm = strip.along(mark.tip_end ? strip.nominal.mark_mm : -strip.nominal.mark_mm);
    const StripFrame on_card(seen.camera, seen.pose.T_camera_card, 0.0, 0.0);
    if ((on_card.at(mark.centre_px) - Eigen::Vector2d(x_mm, 0.0)).norm() < kNearMm) return;
  }
  throw Error(
      "no practice strip is in the edge card's lane",
      "print it with 'evenbevel card practice', and take the photo with at least one of the "
      "two small markers at the strip's ends in view; a blade is measured without "
      "--practice, with --thickness");
}

EdgeSettings blade_of_paper(const PrintedStrip& strip) {
  EdgeSettings settings;
  settings.thickness_mm = strip.across(strip.nominal.thickness_mm);
  settings.thickness_u_mm = strip.nominal.thickness_mm * strip.print.u;
  settings.edge_height_mm = 0.0;
  settings.stage = Stage::scribed;
  settings.tip = Tip::right;
  settings.print = strip.print;
  return settings;
}

/// Where the rims are printed, as far as they lie in the picture.
FlatsPair printed_rims(const PrintedStrip& strip, const std::pair<double, double>& visible_mm) {
  constexpr double kClearMm = 0.5;  // of ends
  const double half = strip.along(strip.nominal.half_length_mm) - kClearMm;
  const double rim = 0.5 * strip.across(strip.nominal.thickness_mm);
  FlatsPair rims;
  rims.high.at_zero_mm = rim;
  rims.low.at_zero_mm = -rim;
  rims.s_begin_mm = std::max(-half, visible_mm.first + kClearMm);
  rims.s_end_mm = std::min(half, visible_mm.second - kClearMm);
  return rims;
}

/// Where the lines are printed, about the rims' middle as found.
InnerTrace printed_lines(const PrintedStrip& strip, const FlatsPair& rims) {
  InnerTrace lines;
  const double half_gap = 0.5 * strip.across(strip.nominal.line_gap_mm);
  for (double s = rims.s_begin_mm; s <= rims.s_end_mm; s += 1.0) {
    const double middle = rims.mid_mm(s) + printed_offset_mm(s, strip.print);
    lines.places.push_back({s, middle - half_gap, middle + half_gap});
  }
  return lines;
}

void require_enough_of_strip(const FlatsPair& rims) {
  constexpr double kLeastMm = 60.0;
  const double seen_mm = rims.s_end_mm - rims.s_begin_mm;
  if (seen_mm >= kLeastMm) return;
  throw Error("only " + length_words(std::max(seen_mm, 0.0), 0) +
                  " of the practice strip is in the picture, " + length_words(kLeastMm, 0) +
                  " are needed",
              "take the photo so that the whole card is in the picture");
}

BladeReading read_strip(const LanePicture& lane, const StripFrame& frame,
                        const PrintedStrip& strip) {
  BladeReading read;
  read.inner.stage = Stage::scribed;
  read.flats = printed_rims(strip, lane.stretch_mm);
  require_enough_of_strip(read.flats);
  InnerTrace& lines = read.inner.trace;
  lines = printed_lines(strip, read.flats);
  read.plan.line_width_mm = strip.across(strip.nominal.line_width_mm);
  read.plan.blur_px = lane.look ? lane.look->blur_px : kUsualBlurPx;
  recentre(lane.image, frame, lines, read.plan, read.flats);
  lines = printed_lines(strip, read.flats);
  read.plan.blur_px =
      typical_blur_px(lane.image, frame, read.flats, lines, read.plan).value_or(read.plan.blur_px);
  read.bands = read_bands(lane.image, frame, read.flats, lines, read.plan);
  require_exposed(read.bands);
  return read;
}

Placement place_strip(const StripFrame& frame, const BladeReading& read, const CardPose& pose,
                      const EdgeSettings& settings) {
  MetricSettings metric;
  metric.stage = Stage::scribed;
  metric.thickness_mm = settings.thickness_mm;
  metric.thickness_u_mm = settings.thickness_u_mm;
  metric.edge_height_mm = settings.edge_height_mm;
  metric.jaw_squareness_u_rad = 0.0;
  metric.blur_px = read.plan.blur_px;
  metric.corner_u_mm = 0.0;
  Placement placed{.plane = frame,
                   .mirrored = false,
                   .bands = read.bands,
                   .plunges = {},
                   .camera = camera_place(frame, pose, false),
                   .settings = metric,
                   .metric = {}};
  placed.metric = to_blade(placed.bands, follow_rims(placed.bands), placed.camera, placed.settings);
  return placed;
}

/// x from the middle of the strip, rather than from the first station.
void count_from_middle(EdgeResult& result, const Metric& metric) {
  const double first_mm = metric.stations.front().x_mm;
  for (EdgeStation& station : result.stations) station.x_mm += first_mm;
  result.worst_x_mm += first_mm;
}

PracticeCheck checked(PracticeCheckKind kind, double printed_mm, double value_mm,
                      std::vector<BudgetLine> budget) {
  return {kind, printed_mm, combine(value_mm, std::move(budget))};
}

/// The mean over a few mm about a place: the offset runs straight, so that it is the place's own.
std::optional<PracticeCheck> offset_at(PracticeCheckKind kind, double nominal_s_mm,
                                       const EdgeResult& result, const PrintedStrip& strip) {
  constexpr double kReachMm = 4.0;
  constexpr std::size_t kLeast = 5;
  std::vector<EdgeStation> near;
  double sum_x_mm = 0.0;
  for (const EdgeStation& station : result.stations) {
    if (!station.centreline_offset_mm) continue;
    if (std::abs(station.x_mm - strip.along(nominal_s_mm)) > kReachMm) continue;
    near.push_back(station);
    sum_x_mm += station.x_mm;
  }
  if (near.size() < kLeast) return std::nullopt;
  const double printed_mm =
      printed_offset_mm(sum_x_mm / static_cast<double>(near.size()), strip.print);
  const Measured mean = mean_offset(near).value();
  const double moved_mm = strip.across(strip.nominal.offset_mm(nominal_s_mm)) - printed_mm;
  return checked(kind, printed_mm + moved_mm, mean.value + moved_mm, mean.budget);
}

std::optional<PracticeCheck> mean_check(PracticeCheckKind kind, double printed_mm,
                                        const EdgeResult& result,
                                        std::optional<Measured> EdgeStation::*which) {
  const std::optional<Measured> mean = mean_of(result.stations, which);
  if (!mean) return std::nullopt;
  return PracticeCheck{kind, printed_mm, *mean};
}

/// The bar of one plunge line, which runs across the strip: its middle, s.
std::optional<Reading> read_plunge(const LanePicture& lane, const StripFrame& frame,
                                   const PrintedStrip& strip, double nominal_s_mm, double t_mm,
                                   double blur_px) {
  constexpr double kReachMm = 1.2, kStartsMm[] = {0.0, -0.2, 0.2, -0.4, 0.4};
  constexpr double kEndsShare = 0.8;  // Of the bar's length, clear of its ends.
  // Turned a quarter: s runs up the page (to the right face), t along the strip.
  const StripFrame across = frame.turned(frame.direction_rad() + 0.5 * kPi);
  const double s_mm = strip.along(nominal_s_mm);
  const double px_per_mm = across.px_per_mm_across(-t_mm, s_mm);
  const Band band{.s_mm = -t_mm,
                  .t_mid_mm = s_mm,
                  .slope = -strip.nominal.plunge_slope,
                  .half_length_mm = kEndsShare * strip.across(strip.nominal.plunge_reach_mm),
                  .t_low_mm = -kReachMm,
                  .t_high_mm = kReachMm};
  const std::vector<ProfileSample> samples =
      band_profile(lane.image, &LaneImage::grey, across, band, px_per_mm);
  std::optional<ProfileFit> best;
  for (const double start_mm : kStartsMm) {
    const ProfileFit fit =
        fit_line_profile(samples, start_mm * px_per_mm,
                         strip.along(strip.nominal.line_width_mm) * px_per_mm, blur_px);
    if (fit.converged && (!best || fit.misfit < best->misfit)) best = fit;
  }
  constexpr double kClear = 6.0;
  if (!best || std::abs(best->model.parts.front().amplitude) < kClear * best->rms ||
      best->model.parts.front().amplitude > 0.0) {
    return std::nullopt;
  }
  return Reading{s_mm + best->model.positions_px.front() / px_per_mm, best->u_px(0) / px_per_mm};
}

std::optional<PracticeCheck> plunge_check(const LanePicture& lane, const StripFrame& frame,
                                          const BladeReading& read, const PrintedStrip& strip,
                                          std::vector<Eigen::Vector2d>& places_px) {
  const PracticeStrip& nominal = strip.nominal;
  const double middle_mm = read.flats.mid_mm(strip.along(nominal.plunge_mm));
  const double depth_mm = strip.across(nominal.plunge_depth_mm);
  const auto at = [&](double s_mm, double t_mm) {
    return read_plunge(lane, frame, strip, s_mm, middle_mm + t_mm, read.plan.blur_px);
  };
  const std::optional<Reading> left = at(nominal.plunge_left_mm(), depth_mm);
  const std::optional<Reading> right = at(nominal.plunge_right_mm(), -depth_mm);
  if (!left || !right) return std::nullopt;
  places_px = {frame.pixel(left->t_mm, middle_mm + depth_mm),
               frame.pixel(right->t_mm, middle_mm - depth_mm)};
  const double px_per_mm = frame.px_per_mm_across(strip.along(nominal.plunge_mm), middle_mm);
  return checked(PracticeCheckKind::plunge_mismatch, strip.along(nominal.plunge_mismatch_mm),
                 left->t_mm - right->t_mm,
                 {{kEdgeLocation, std::hypot(left->u_mm, right->u_mm)},
                  {kLight, light_bias::edge::kGap / px_per_mm}});
}

std::optional<PracticeCheck> bar_check(const PrintScale& print) {
  if (!print.measured) return std::nullopt;
  const double bar_mm = printed_bar_mm(CardKind::edge);
  return checked(PracticeCheckKind::printed_bar, bar_mm, bar_mm * print.along,
                 {{"calipers", bar_mm * print.u}});
}

void check_stations(PracticeResult& result, const PrintScale& print) {
  double squares = 0.0;
  for (const EdgeStation& station : result.as_blade.stations) {
    if (!station.centreline_offset_mm) continue;
    const double off_mm =
        station.centreline_offset_mm->value - printed_offset_mm(station.x_mm, print);
    squares += off_mm * off_mm;
    ++result.stations;
    if (std::abs(off_mm) <= U95(*station.centreline_offset_mm)) ++result.stations_inside;
  }
  if (result.stations > 0) result.offset_rms_mm = std::sqrt(squares / result.stations);
}

void require_strip_read(const PracticeResult& result) {
  constexpr double kLeastShare = 0.7;
  const auto all = static_cast<double>(result.as_blade.stations.size());
  if (result.stations > 0 && result.stations >= kLeastShare * all) return;
  throw Error("the practice strip could be read at only " + std::to_string(result.stations) +
                  " of " + std::to_string(result.as_blade.stations.size()) + " places",
              "lay the paper flat, in even light without glare, with nothing on it, and take the "
              "photo again");
}

}  // namespace

bool PracticeCheck::inside() const { return std::abs(difference_mm()) <= U95(measured_mm); }

const PracticeCheck* find(const std::vector<PracticeCheck>& checks, PracticeCheckKind kind) {
  const auto found = std::ranges::find(checks, kind, &PracticeCheck::kind);
  return found == checks.end() ? nullptr : &*found;
}

bool PracticeResult::paper_is_bent() const {
  constexpr double kSure = 2.0;      // standard uncertainties
  constexpr double kLeastMm = 0.25;  // less moves no number of a card's by a tenth of its U95
  return bend_mm > kLeastMm && bend_mm > kSure * bend_u_mm;
}

bool PracticeResult::photo_is_soft() const { return as_blade.blur_px > kSoftBlurPx; }

bool PracticeResult::holds() const {
  return !paper_is_bent() && !photo_is_soft() &&
         std::ranges::all_of(checks, &PracticeCheck::inside);
}

double printed_offset_mm(double x_mm, const PrintScale& print) {
  return print.across * PracticeStrip().offset_mm(x_mm / print.along);
}

PracticeResult practice_view(const Photo& photo, const CameraModel& file,
                             const PracticeSettings& settings) {
  constexpr int kNeededCorners = 16;
  if (!file.guessed) require_same_camera(file, photo);
  const cv::Mat grey = grey8(photo.pixels);
  const FoundCard card = require_card(grey, CardKind::edge, kNeededCorners);
  const SeenCard seen = see_card(card, file, settings.print);
  const PrintedStrip strip{.print = settings.print};
  require_strip(grey, seen, strip);
  const EdgeSettings as_blade = blade_of_paper(strip);
  LanePicture lane = lane_picture(photo, seen.camera, seen.pose, as_blade);
  look_at_card(lane, photo, seen.camera, seen.pose);
  const StripFrame frame = lane.on_lane.turned(strip.nominal.turn_rad);
  const BladeReading read = read_strip(lane, frame, strip);
  const Placement placed = place_strip(frame, read, seen.pose, as_blade);

  PracticeResult result;
  result.as_blade = result_of(placed, read, lane.px_per_mm, 0.0);
  EdgeResult& blade = result.as_blade;
  count_from_middle(blade, placed.metric);
  blade.tip_seen = true;
  blade.pose = seen.pose;
  blade.lens_guessed = file.guessed;
  blade.corners_found = static_cast<int>(card.corners.size());
  blade.corners = card.corners;
  blade.camera_lateral_mm = placed.camera.t_mm;
  add_warnings(blade, placed.bands);
  if (const auto note = lens_note(seen.pose.lens)) blade.warnings.push_back(*note);
  check_stations(result, settings.print);
  require_strip_read(result);

  using enum PracticeCheckKind;
  const PracticeStrip& nominal = strip.nominal;
  for (const auto& check :
       {offset_at(offset_handle, -nominal.stated_at_mm, blade, strip),
        offset_at(offset_middle, 0.0, blade, strip),
        offset_at(offset_tip, nominal.stated_at_mm, blade, strip),
        mean_check(rim_distance, strip.across(nominal.thickness_mm), blade,
                   &EdgeStation::thickness_mm),
        mean_check(line_gap, strip.across(nominal.line_gap_mm), blade, &EdgeStation::line_gap_mm),
        plunge_check(lane, frame, read, strip, result.plunges_px), bar_check(settings.print)}) {
    if (check) result.checks.push_back(*check);
  }
  result.bend_mm = seen.pose.bend_mm;
  result.bend_u_mm = seen.pose.bend_u_mm;
  if (settings.print.measured) result.print_off_percent = 100.0 * (settings.print.along - 1.0);
  return result;
}

}  // namespace evenbevel
