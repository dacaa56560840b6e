#include "at_pose.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <sstream>

#include <opencv2/imgproc.hpp>

#include "card_look.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/fit.hpp"
#include "evenbevel/units.hpp"
#include "extent.hpp"
#include "inner.hpp"
#include "locate.hpp"
#include "metric.hpp"
#include "plunge.hpp"
#include "readings.hpp"
#include "strip.hpp"

namespace evenbevel::edge {
namespace {

constexpr double kUsualEdgeHeightMm = 5.0;  // Set-up: 2-10 mm proud of the card.
constexpr double kLowestRimMm = 0.2, kHighestRimMm = 14.0;
constexpr double kLeastPxPerMm = 5.0;
constexpr double kMostBlurPx = 3.0;
constexpr double kUsualBlurPx = 0.9;
constexpr double kTurnRad = 0.09;  // The slot is 8 mm wide: the blade cannot lie more askew.
constexpr double kBesideLaneMm = 3.0;
constexpr double kAlongStepMm = 0.5;

std::string in_mm(double mm, int decimals = 2) {
  std::ostringstream text;
  text.setf(std::ios::fixed);
  text.precision(decimals);
  text << mm << " mm";
  return text.str();
}

/// The photo's part with the lane, up to some way above the card.
cv::Rect lane_region(const StripFrame& on_card, const StripFrame& above, cv::Size size) {
  const Eigen::AlignedBox2d lane = card_layout(CardKind::edge).lane_mm();
  const double reach = 0.5 * lane.sizes().y() + kBesideLaneMm;
  double left = size.width, top = size.height, right = 0, bottom = 0;
  for (const StripFrame* frame : {&on_card, &above}) {
    for (double s = lane.min().x(); s <= lane.max().x(); s += 5.0) {
      for (const double t : {-reach, reach}) {
        const Eigen::Vector2d q = frame->pixel(s, t);
        left = std::min(left, q.x());
        right = std::max(right, q.x());
        top = std::min(top, q.y());
        bottom = std::max(bottom, q.y());
      }
    }
  }
  const cv::Rect region(cv::Point(static_cast<int>(left) - 2, static_cast<int>(top) - 2),
                        cv::Point(static_cast<int>(right) + 3, static_cast<int>(bottom) + 3));
  return region & cv::Rect({}, size);
}

/// The stretch of the lane that lies in the picture.
std::pair<double, double> visible_stretch(const StripFrame& frame, cv::Size size) {
  const Eigen::AlignedBox2d lane = card_layout(CardKind::edge).lane_mm();
  double low = 1e9, high = -1e9;
  for (double s = lane.min().x(); s <= lane.max().x(); s += 0.5) {
    const Eigen::Vector2d q = frame.pixel(s, 0.0);
    if (q.x() < 3 || q.y() < 3 || q.x() > size.width - 4 || q.y() > size.height - 4) continue;
    low = std::min(low, s);
    high = std::max(high, s);
  }
  return {low, high};
}

/// Apparent width, in the reference plane, of two rims T apart at height z.
double apparent(double thickness_mm, double z_mm, const StripFrame& frame) {
  const double height = frame.camera_mm().z();
  return thickness_mm * (height - frame.reference_height_mm()) / (height - z_mm);
}

struct Located {
  StripFrame frame;
  CoarseStrip strip;
  FlatsPair flats;
  double px_per_mm;
};

/// Looks twice, across the card and then along the direction found. Best first; the right one need
/// not be the first, since jaws and the flats' lower ends run along the blade too.
std::vector<Located> locate(const LaneImage& image, const StripFrame& on_lane,
                            const std::pair<double, double>& stretch, FlatsSearch search,
                            double least_support_mm) {
  constexpr int kMost = 5;
  const double reach = 0.5 * card_layout(CardKind::edge).lane_mm().sizes().y() - 0.5;
  const double px_per_mm = on_lane.px_per_mm_across(0.5 * (stretch.first + stretch.second), 0.0);
  const double dt = 0.5 / px_per_mm;
  search.turn_rad = kTurnRad;
  const CoarseStrip first = coarse_strip(
      image, on_lane, {stretch.first, stretch.second, -reach, reach}, kAlongStepMm, dt);
  const std::vector<FlatsPair> rough =
      find_flats(first, px_per_mm, search, 0.5 * least_support_mm, 1);
  if (rough.empty()) return {};
  const double slope = 0.5 * (rough.front().high.slope + rough.front().low.slope);
  const StripFrame frame = on_lane.turned(on_lane.direction_rad() - std::atan(slope));
  search.turn_rad = 0.012;
  search.smooth_along_mm = 8.0;
  search.least_gradient = 0.6F;
  const double mid = rough.front().mid_mm(0.0);
  const CoarseStrip strip = coarse_strip(
      image, frame, {stretch.first, stretch.second, mid - 5.0, mid + 5.0}, kAlongStepMm, dt);
  std::vector<Located> places;
  for (FlatsPair& flats : find_flats(strip, px_per_mm, search, least_support_mm, kMost)) {
    places.push_back({frame, strip, std::move(flats), px_per_mm});
  }
  return places;
}

struct Inner {
  Stage stage;
  InnerTrace trace;
  double log_misfit;  ///< Of the profiles; lower is better.
};

InnerSearch inner_search(const Located& at, const std::pair<double, double>& stretch) {
  const double width = at.flats.width_mm(0.5 * (at.flats.s_begin_mm + at.flats.s_end_mm));
  return {.mid = {0.5 * (at.flats.high.at_zero_mm + at.flats.low.at_zero_mm),
                  0.5 * (at.flats.high.slope + at.flats.low.slope)},
          .half_width_mm = 0.3 * width,
          .border_limit_mm = 0.4 * width,
          .gap_high_mm = 0.5 * width,
          .s_low_mm = stretch.first,
          .s_high_mm = stretch.second};
}

/// Mean strength with which both flats were seen along a stretch.
double strength_along(const FlatsPair& flats, const CoarseStrip& strip, double begin_mm,
                      double end_mm) {
  double sum = 0.0;
  int columns = 0;
  for (std::size_t column = 0; column < flats.seen.size(); ++column) {
    const double s = strip.s_mm(static_cast<double>(column));
    if (s < begin_mm || s > end_mm) continue;
    sum += static_cast<double>(flats.seen[column]);
    ++columns;
  }
  return columns > 0 ? sum / columns : 0.0;
}

/// Whether the places just inside of both rims are a gap that one looks down into, and no facets:
/// darker than the jaws outside, and darker than what adjoins the land.
bool gap_beside_land(const Located& at, const InnerTrace& trace) {
  constexpr double kBesideMm = 0.25;
  constexpr double kClearlyDarker = 0.9;
  std::array<double, 6> sums{};  // Outside, inside, beside the land: high side, then low side.
  for (const InnerTrace::Place& p : trace.places) {
    const double high = at.flats.high.t_mm(p.s_mm), low = at.flats.low.t_mm(p.s_mm);
    const std::array t = {high + kBesideMm, high - kBesideMm, p.high_mm + kBesideMm,
                          low - kBesideMm,  low + kBesideMm,  p.low_mm - kBesideMm};
    const int column =
        std::clamp(static_cast<int>(std::lround((p.s_mm - at.strip.s0_mm) / at.strip.ds_mm)), 0,
                   at.strip.grey.cols - 1);
    for (std::size_t i = 0; i < t.size(); ++i) {
      const int row = static_cast<int>(std::lround((t[i] - at.strip.t0_mm) / at.strip.dt_mm));
      sums[i] += at.strip.grey.at<float>(std::clamp(row, 0, at.strip.grey.rows - 1), column);
    }
  }
  const auto gap = [&](std::size_t side) {
    return sums[side + 1] < kClearlyDarker * std::min(sums[side], sums[side + 2]);
  };
  return gap(0) && gap(3);
}

/// Which stage the photo shows: the model that explains the profiles better.
std::optional<Inner> find_inner(const LaneImage& image, const Located& at,
                                const std::pair<double, double>& stretch,
                                const EdgeSettings& settings, double card_blur_px) {
  constexpr double kMostLogMisfit = -1.7;  // Residuals under a fifth of the contrast.
  const InnerSearch search = inner_search(at, stretch);
  InnerSearch lines_search = search;
  lines_search.gap_high_mm = std::min(search.gap_high_mm, 1.0);
  std::optional<Inner> best;
  const auto consider = [&](Stage stage, std::optional<InnerTrace> trace) {
    if (!trace) return;
    const ReadingPlan plan{.stage = stage, .step_mm = settings.step_mm, .blur_px = card_blur_px};
    const double misfit = mean_log_misfit(image, at.frame, at.flats, *trace, plan);
    if (misfit > kMostLogMisfit || (best && misfit > best->log_misfit)) return;
    best = Inner{stage, std::move(*trace), misfit};
  };
  if (!settings.stage || *settings.stage == Stage::scribed) {
    consider(Stage::scribed, follow_lines(at.strip, at.px_per_mm, lines_search));
  }
  if (!settings.stage || *settings.stage != Stage::scribed) {
    consider(Stage::ground, follow_land(at.strip, at.px_per_mm, search));
  }
  if (!best) return std::nullopt;
  const ReadingPlan plan{
      .stage = best->stage, .step_mm = settings.step_mm, .blur_px = card_blur_px};
  best->trace = confirmed(image, at.frame, at.flats, best->trace, plan);
  if (best->trace.places.size() < 10) return std::nullopt;
  if (best->stage == Stage::ground) {
    const bool flats_beside = strength_along(at.flats, at.strip, best->trace.s_begin_mm(),
                                             best->trace.s_end_mm()) > 0.35 &&
                              !gap_beside_land(at, best->trace);
    best->stage = settings.stage.value_or(flats_beside ? Stage::ground : Stage::bevelled);
  }
  return best;
}

/// The flats and what lies between them, together: of several pairs of borders the blade's is the
/// one seen best beside the lines or the land, and on the ricasso just before it.
struct Blade {
  Located at;
  Inner inner;
};

std::optional<Blade> find_blade(const LaneImage& image, std::vector<Located> places,
                                const std::pair<double, double>& stretch,
                                const EdgeSettings& settings, double card_blur_px) {
  constexpr double kPlungeMm = 5.0, kRicassoMm = 12.0, kFullLengthMm = 50.0;
  constexpr double kBeyondDoubt = 0.92;
  std::optional<Blade> best;
  double best_score = 0.1;  // Below this the flats are a guess.
  for (Located& place : places) {
    std::optional<Inner> inner = find_inner(image, place, stretch, settings, card_blur_px);
    if (!inner) continue;
    const double begin = inner->trace.s_begin_mm(), end = inner->trace.s_end_mm();
    const auto strength = [&](double from, double to) {
      return strength_along(place.flats, place.strip, from, to);
    };
    // Jaws run beside the land too, but not beside the ricasso: that tells more.
    const double ricasso = std::max(strength(begin - kPlungeMm - kRicassoMm, begin - kPlungeMm),
                                    strength(end + kPlungeMm, end + kPlungeMm + kRicassoMm));
    const double beside = strength(begin, end);
    const double rims = inner->stage == Stage::scribed ? beside : 0.4 * beside + 0.6 * ricasso;
    const double score = rims * std::min(1.0, (end - begin) / kFullLengthMm);
    if (score <= best_score) continue;
    best_score = score;
    best = Blade{std::move(place), std::move(*inner)};
    if (score > kBeyondDoubt) break;
  }
  return best;
}

/// The land has its true width and the facets their depth only some way from the plunge lines.
void trim_at_plunges(InnerTrace& trace, const PlungeLines& plunges, int handle) {
  constexpr double kFilletMm = 2.5;
  double limit = handle > 0 ? 1e9 : -1e9;
  for (const auto& plunge : {plunges.high, plunges.low}) {
    if (!plunge) continue;
    limit = handle > 0 ? std::min(limit, plunge->t_mm - kFilletMm)
                       : std::max(limit, plunge->t_mm + kFilletMm);
  }
  std::erase_if(trace.places, [&](const InnerTrace::Place& p) {
    return handle > 0 ? p.s_mm > limit : p.s_mm < limit;
  });
}

void mirror(std::vector<BandReadings>& bands) {
  std::reverse(bands.begin(), bands.end());
  const auto flip = [](std::optional<Reading>& r) {
    if (r) r->t_mm = -r->t_mm;
  };
  for (BandReadings& band : bands) {
    band.s_mm = -band.s_mm;
    std::swap(band.flat_high, band.flat_low);
    std::swap(band.inner_high, band.inner_low);
    for (auto* r : {&band.flat_high, &band.flat_low, &band.inner_high, &band.inner_low}) flip(*r);
  }
}

CameraPlace camera_place(const StripFrame& frame, const CardPose& pose, bool mirrored) {
  const Eigen::Vector3d at = frame.camera_mm();
  // The centre is -R^T t: a turn w and a shift dt in the camera frame move it by -R^T (dt - t x w).
  const Eigen::Matrix3d R_card_camera = pose.T_camera_card.matrix.linear().transpose();
  const Eigen::Vector3d t = pose.T_camera_card.matrix.translation();
  Eigen::Matrix3d cross;
  cross << 0, -t.z(), t.y(), t.z(), 0, -t.x(), -t.y(), t.x(), 0;
  Eigen::Matrix<double, 3, 6> J_centre;
  J_centre.leftCols<3>() = -R_card_camera * cross;
  J_centre.rightCols<3>() = -R_card_camera;
  const Eigen::Matrix3d covariance =
      J_centre * (pose.covariance_corners + pose.covariance_camera) * J_centre.transpose();
  return {.t_mm = mirrored ? -at.y() : at.y(),
          .height_mm = at.z(),
          .u_t_mm = std::sqrt(std::max(covariance(1, 1), 0.0)),
          .u_height_mm = std::sqrt(std::max(covariance(2, 2), 0.0))};
}

[[noreturn]] void fail_without_blade(const LaneImage& image, const StripFrame& on_lane,
                                     const std::pair<double, double>& stretch,
                                     const FlatsSearch& search, const std::optional<CardLook>& look,
                                     const EdgeSettings& settings) {
  if (look && look->white > 0.95) {
    throw Error("the photo is over-exposed: the card's paper is pure white",
                "turn the exposure down or move the light, and take the photo again");
  }
  const auto found_for = [&](double low_mm, double high_mm) -> std::optional<double> {
    FlatsSearch other = search;
    other.width_low_mm = low_mm;
    other.width_high_mm = high_mm;
    const auto blade = find_blade(image, locate(image, on_lane, stretch, other, 25.0), stretch,
                                  settings, look ? look->blur_px : kUsualBlurPx);
    if (!blade) return std::nullopt;
    const FlatsPair& flats = blade->at.flats;
    return flats.width_mm(0.5 * (flats.s_begin_mm + flats.s_end_mm));
  };
  const struct {
    double factor;
    const char* meant;
  } units[] = {{25.4, "inches"},
               {1.0 / 25.4, "millimetres, not inches"},
               {0.0254, "thousandths of an inch"},
               {1.0 / 0.0254, "millimetres, not thou"}};
  for (const auto& unit : units) {
    const double thickness = settings.thickness_mm * unit.factor;
    if (thickness < 0.8 || thickness > 9.0) continue;
    if (found_for(0.975 * thickness, 1.06 * thickness)) {
      throw Error("the thickness given, " + in_mm(settings.thickness_mm, 3) +
                      ", does not fit the blade in the photo, but " + in_mm(thickness) + " would",
                  "the number was probably in " + std::string(unit.meant) +
                      ": write the unit with it, for example 0.100in or 2.54mm");
    }
  }
  if (const auto width = found_for(1.0, 6.5)) {
    throw Error("the thickness given, " + in_mm(settings.thickness_mm, 3) +
                    ", and the card's scale disagree: the blade looks " + in_mm(*width) + " thick",
                "measure the stock again and mind the unit; check the card's printed bar with "
                "calipers (--printed-bar) and that the card lies flat");
  }
  throw Error("no blade with scribe lines or a ground edge was found in the card's lane",
              "clamp the blade edge up, drop the card over it so that 2-10 mm of the edge stands "
              "out of the slot, and light it so that its rims and lines show; if they do show, "
              "name the stage with --stage");
}

EdgeTrace trace_of(const std::vector<BandReadings>& bands,
                   std::optional<Reading> BandReadings::*which, EdgeTrace::Kind kind,
                   const StripFrame& frame, bool mirrored) {
  EdgeTrace trace;
  trace.kind = kind;
  for (const BandReadings& band : bands) {
    if (!(band.*which)) continue;
    const double sign = mirrored ? -1.0 : 1.0;
    trace.points_px.push_back(frame.pixel(sign * band.s_mm, sign * (band.*which)->t_mm));
  }
  if (!bands.empty()) {
    trace.coverage =
        static_cast<double>(trace.points_px.size()) / static_cast<double>(bands.size());
  }
  return trace;
}

std::optional<Measured> mean_of(const std::vector<EdgeStation>& stations,
                                std::optional<Measured> EdgeStation::*which) {
  double value = 0.0, u = 0.0;
  int count = 0;
  for (const EdgeStation& s : stations) {
    if (!(s.*which)) continue;
    value += (s.*which)->value;
    u += (s.*which)->u;
    ++count;
  }
  if (count == 0) return std::nullopt;
  return Measured{value / count, u / count};
}

void summarise(EdgeResult& result, const Metric& metric) {
  result.centreline_offset_mm = metric.mean_offset_mm;
  for (const BudgetLine& line : metric.mean_budget) {
    result.budget.push_back({"centreline_offset", line});
  }
  int seen = 0;
  const EdgeStation* worst = nullptr;
  for (const EdgeStation& s : result.stations) {
    if (!s.centreline_offset_mm) continue;
    ++seen;
    if (worst == nullptr ||
        std::abs(s.centreline_offset_mm->value) > std::abs(worst->centreline_offset_mm->value)) {
      worst = &s;
    }
  }
  result.coverage = result.stations.empty()
                        ? 0.0
                        : static_cast<double>(seen) / static_cast<double>(result.stations.size());
  if (worst != nullptr) {
    const Measured& c = *worst->centreline_offset_mm;
    result.centreline_offset_worst_mm = c;
    result.worst_x_mm = worst->x_mm;
    result.symmetry_mm = Measured{2.0 * std::abs(c.value), 2.0 * c.u, c.dof};
    for (const BudgetLine& line : worst->budget) {
      result.budget.push_back({"centreline_offset_worst", line});
    }
  }
  result.line_gap_mm = mean_of(result.stations, &EdgeStation::line_gap_mm);
  result.land_width_mm = mean_of(result.stations, &EdgeStation::land_width_mm);
  result.facet_width_left_mm = mean_of(result.stations, &EdgeStation::facet_width_left_mm);
  result.facet_width_right_mm = mean_of(result.stations, &EdgeStation::facet_width_right_mm);
  if (result.facet_width_left_mm && result.centreline_offset_mm) {
    // wL - wR = -2c: what moves all borders outward alike leaves the difference alone.
    result.facet_width_difference_mm =
        Measured{result.facet_width_left_mm->value - result.facet_width_right_mm->value,
                 2.0 * result.centreline_offset_mm->u, result.centreline_offset_mm->dof};
  }
}

void add_warnings(EdgeResult& result, const std::vector<BandReadings>& bands,
                  const EdgeSettings& settings) {
  double clipped = 0.0;
  for (const BandReadings& band : bands) {
    clipped += band.clipped_share / static_cast<double>(bands.size());
  }
  if (clipped > 0.25) {
    result.warnings.push_back(std::to_string(static_cast<int>(100 * clipped)) +
                              " % of the edge is over-exposed; its borders look wider than they "
                              "are and the intervals are widened.");
    result.advice.push_back(
        "Turn the exposure down a step or move the light, so that no part of "
        "the edge is pure white.");
  }
  if (result.blur_px > 1.8) {
    result.warnings.push_back("The photo is soft: borders are blurred over " +
                              std::to_string(result.blur_px).substr(0, 3) + " px.");
    result.advice.push_back("Hold the phone steady, tap on the edge to focus, and take it again.");
  }
  if (result.coverage < 0.7) {
    result.warnings.push_back("Only " + std::to_string(static_cast<int>(100 * result.coverage)) +
                              " % of the stations could be measured.");
  }
  if (std::abs(result.camera_lateral_mm) > 8.0 && result.stage != Stage::scribed) {
    result.advice.push_back("Move the camera " + in_mm(std::abs(result.camera_lateral_mm), 0) +
                            " toward the " + (result.camera_lateral_mm > 0 ? "right" : "left") +
                            " face, to stand over the edge.");
  }
  if (result.stage == Stage::bevelled) {
    result.warnings.push_back(
        "The flats end at the plunge lines: the mid-plane is carried on from "
        "the ricasso, and the interval grows with the distance from it.");
  }
  if (!settings.tip && !result.x_from_plunge) {
    result.warnings.push_back(
        "Nothing in the photo tells where the tip is: it is taken to point "
        "right on the upright card (--tip left if not).");
  }
}

}  // namespace

EdgeResult measure_at_pose(const Photo& photo, const CameraModel& camera, const CardPose& pose,
                           const EdgeSettings& settings) {
  const StripFrame on_card(camera, pose.T_camera_card, 0.0, 0.0);
  const StripFrame above(camera, pose.T_camera_card, kHighestRimMm, 0.0);
  const StripFrame on_lane(camera, pose.T_camera_card,
                           settings.edge_height_mm.value_or(kUsualEdgeHeightMm), 0.0);
  const LaneImage image =
      lane_image(photo.pixels, lane_region(on_card, above, photo.pixels.size()));
  const auto stretch = visible_stretch(on_lane, photo.pixels.size());
  if (stretch.second - stretch.first < 30.0) {
    throw Error("less than 30 mm of the card's lane is in the picture",
                "take the photo so that the whole edge and the card around it are in the picture");
  }
  const double px_per_mm = on_lane.px_per_mm_across(0.5 * (stretch.first + stretch.second), 0.0);
  if (px_per_mm < kLeastPxPerMm) {
    throw Error("the blade is too small in the picture: " + in_mm(1.0 / px_per_mm) + " a pixel",
                "come closer, until the card fills the picture");
  }
  const std::optional<CardLook> look = card_look(image, on_card);
  if (look && look->blur_px > kMostBlurPx) {
    throw Error("the photo is blurred: printed borders are " +
                    std::to_string(look->blur_px).substr(0, 4) + " px soft, " +
                    std::to_string(kMostBlurPx).substr(0, 3) + " px is the most that can be used",
                "hold the phone steady or rest it on something, tap on the edge to focus, give it "
                "more light, and take the photo again");
  }

  // A rim's broken corner shows up to a pixel inside of it.
  const double flank_mm = 1.0 / px_per_mm;
  const double lowest = settings.edge_height_mm ? *settings.edge_height_mm - 2.5 : kLowestRimMm;
  const double highest = settings.edge_height_mm ? *settings.edge_height_mm + 1.0 : kHighestRimMm;
  FlatsSearch search{.width_low_mm = apparent(settings.thickness_mm, lowest, on_lane) - flank_mm,
                     .width_high_mm = apparent(settings.thickness_mm, highest, on_lane)};
  if (look) {
    const double black = std::max(look->black, 1e-4);
    search.card_black = 255.0 * (1.055 * std::pow(black, 1.0 / 2.4) - 0.055);
  }
  constexpr double kLeastFlatsMm = 7.0;
  const std::optional<Blade> blade =
      find_blade(image, locate(image, on_lane, stretch, search, kLeastFlatsMm), stretch, settings,
                 look ? look->blur_px : kUsualBlurPx);
  if (!blade) fail_without_blade(image, on_lane, stretch, search, look, settings);
  const Located& at = blade->at;
  FlatsPair flats = at.flats;
  Inner inner = blade->inner;
  const BladeExtent extent =
      blade_extent(at.strip, flats, inner.trace, inner.stage != Stage::scribed);
  const int handle = extent.handle;
  flats.s_begin_mm = extent.s_begin_mm;
  flats.s_end_mm = extent.s_end_mm;
  EdgeResult result;
  result.stage = inner.stage;
  PlungeLines plunges;
  ReadingPlan plan{.stage = inner.stage, .step_mm = settings.step_mm};
  plan.blur_px = typical_blur_px(image, at.frame, flats, inner.trace, plan)
                     .value_or(look ? look->blur_px : kUsualBlurPx);
  if (handle != 0) {
    plunges = find_plunges(image, at.frame, flats, inner.trace, handle, plan.blur_px);
    trim_at_plunges(inner.trace, plunges, handle);
    if (inner.trace.places.size() < 6) {
      throw Error("the ground edge is too short to be measured beyond the plunge lines",
                  "take the photo so that more of the ground edge is in the picture");
    }
  }
  if (inner.stage == Stage::bevelled) {
    const double margin = 3.0;
    if (handle < 0) flats.s_end_mm = std::min(flats.s_end_mm, inner.trace.s_begin_mm() - margin);
    if (handle > 0) flats.s_begin_mm = std::max(flats.s_begin_mm, inner.trace.s_end_mm() + margin);
  }
  if (inner.stage != Stage::ground) choose_rim_looks(image, at.frame, flats, plan);
  recentre(image, at.frame, inner.trace, plan, flats);
  if (inner.stage != Stage::ground) choose_rim_looks(image, at.frame, flats, plan);
  std::vector<BandReadings> bands = read_bands(image, at.frame, flats, inner.trace, plan);

  const Tip tip_seen = handle > 0 ? Tip::left : Tip::right;
  result.tip = settings.tip.value_or(tip_seen);
  if (settings.tip && handle != 0 && *settings.tip != tip_seen) {
    result.warnings.push_back(
        "The plunge lines say that the tip points the other way than --tip: "
        "check which face is which.");
  }
  const bool mirrored = result.tip == Tip::left;
  if (mirrored) mirror(bands);
  const CameraPlace place = camera_place(at.frame, pose, mirrored);
  MetricSettings metric_settings{.stage = inner.stage,
                                 .thickness_mm = settings.thickness_mm,
                                 .thickness_u_mm = settings.thickness_u_mm,
                                 .edge_height_mm = settings.edge_height_mm,
                                 .facet_angle_rad = settings.facet_angle_rad,
                                 .jaw_squareness_u_rad = settings.jaw_squareness_u_rad,
                                 .reference_height_mm = on_lane.reference_height_mm(),
                                 .blur_px = plan.blur_px,
                                 .high = mirrored ? plan.low : plan.high,
                                 .low = mirrored ? plan.high : plan.low};
  const Datum datum = inner.stage == Stage::bevelled ? extend_rims(bands) : follow_rims(bands);
  Metric metric = to_blade(bands, datum, place, metric_settings);

  // To the blade's own x, at the height of the edge.
  const double foot_s = (mirrored ? -1.0 : 1.0) * at.frame.camera_mm().x();
  const double shrink =
      (place.height_mm - metric.edge_height_mm) / (place.height_mm - on_lane.reference_height_mm());
  const auto along = [&](double s) { return foot_s + (s - foot_s) * shrink; };
  const auto plunge_at = [&](const std::optional<Reading>& r) -> std::optional<Measured> {
    if (!r) return std::nullopt;
    return Measured{along(mirrored ? -r->t_mm : r->t_mm), r->u_mm};
  };
  std::optional<Measured> left = plunge_at(mirrored ? plunges.low : plunges.high);
  std::optional<Measured> right = plunge_at(mirrored ? plunges.high : plunges.low);
  double origin = 0.0;
  if (left && right) {
    origin = 0.5 * (left->value + right->value);
    result.x_from_plunge = true;
    left->value -= origin;
    right->value -= origin;
    result.plunge_left_mm = left;
    result.plunge_right_mm = right;
    result.plunge_mismatch_mm = Measured{left->value - right->value, std::hypot(left->u, right->u)};
  } else if (!metric.stations.empty()) {
    origin = along(metric.stations.front().x_mm);
  }
  for (std::size_t i = 0; i < metric.stations.size(); ++i) {
    EdgeStation& station = metric.stations[i];
    const double sign = mirrored ? -1.0 : 1.0;
    station.px = at.frame.pixel(sign * station.x_mm, sign * metric.middle_t_mm[i]);
    station.x_mm = along(station.x_mm) - origin;
  }
  // Stations before the first and behind the last reading say nothing.
  const auto measured = [](const EdgeStation& s) { return s.centreline_offset_mm.has_value(); };
  const auto first = std::find_if(metric.stations.begin(), metric.stations.end(), measured);
  const auto last = std::find_if(metric.stations.rbegin(), metric.stations.rend(), measured).base();
  if (first < last) result.stations.assign(first, last);

  result.traces = {
      trace_of(bands, &BandReadings::flat_high, EdgeTrace::Kind::flat_left, at.frame, mirrored),
      trace_of(bands, &BandReadings::flat_low, EdgeTrace::Kind::flat_right, at.frame, mirrored),
      trace_of(
          bands, &BandReadings::inner_high,
          inner.stage == Stage::scribed ? EdgeTrace::Kind::scribe_left : EdgeTrace::Kind::land_left,
          at.frame, mirrored),
      trace_of(bands, &BandReadings::inner_low,
               inner.stage == Stage::scribed ? EdgeTrace::Kind::scribe_right
                                             : EdgeTrace::Kind::land_right,
               at.frame, mirrored)};
  result.scale_px_per_mm = at.px_per_mm;
  result.blur_px = plan.blur_px;
  result.edge_height_mm = metric.edge_height_mm;
  result.camera_distance_mm = place.height_mm - metric.edge_height_mm;
  result.camera_lateral_mm =
      place.t_mm - (mirrored ? -1.0 : 1.0) * flats.mid_mm(at.frame.camera_mm().x());
  result.pose = pose;
  summarise(result, metric);
  if (result.coverage < 0.25 || result.stations.size() < 5) {
    throw Error("the edge could be measured at too few places: " +
                    std::to_string(static_cast<int>(100 * result.coverage)) +
                    " % of the stations, 25 % are needed",
                "light the edge evenly from both sides and take the photo again");
  }
  add_warnings(result, bands, settings);
  return result;
}

}  // namespace evenbevel::edge
