#include "at_pose.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <opencv2/imgproc.hpp>

#include "card_look.hpp"
#include "corner_rims.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/fit.hpp"
#include "evenbevel/units.hpp"
#include "found_blade.hpp"
#include "inner.hpp"
#include "lamp_side.hpp"
#include "law_check.hpp"
#include "locate.hpp"
#include "metric.hpp"
#include "pair_shape.hpp"
#include "plunge.hpp"
#include "quick_look.hpp"
#include "readings.hpp"
#include "refusals.hpp"
#include "strip.hpp"
#include "summary.hpp"

namespace evenbevel::edge {
namespace {

constexpr double kLowestRimMm = 0.2, kHighestRimMm = 14.0;
constexpr double kGivenHeightU = 4.0;  // Of the rims, mm, generous.
constexpr double kLeastPxPerMm = 5.0;
constexpr double kBesideLaneMm = 3.0;

/// Apparent width, in the reference plane, of two rims T apart at height z.
double apparent(double thickness_mm, double z_mm, const StripFrame& frame) {
  const double height = frame.camera_mm().z();
  return thickness_mm * (height - frame.reference_height_mm()) / (height - z_mm);
}

/// The land has its true width and the facets their depth only some way from the plunge lines.
void trim_at_plunges(InnerTrace& trace, const PlungeLines& plunges, int handle) {
  constexpr double kShortOfPlungeMm = 2.5;
  constexpr double kUnseenMm = 4.0;  // Where the plunge lines could not be read.
  double limit = handle > 0 ? trace.s_end_mm() : trace.s_begin_mm();
  if (!plunges.high || !plunges.low) limit -= handle * kUnseenMm;
  for (const auto& plunge : {plunges.high, plunges.low}) {
    if (!plunge) continue;
    limit = handle > 0 ? std::min(limit, plunge->t_mm - kShortOfPlungeMm)
                       : std::max(limit, plunge->t_mm + kShortOfPlungeMm);
  }
  std::erase_if(trace.places, [&](const InnerTrace::Place& p) {
    return handle > 0 ? p.s_mm > limit : p.s_mm < limit;
  });
}

/// The heights at which the flats' rims are sought.
HeightProfile rim_heights(const EdgeSettings& settings) {
  if (!settings.seen) return settings.edge_height_mm.value_or(kUsualEdgeHeightMm);
  std::vector<Eigen::Vector2d> heights;
  for (const Eigen::Vector3d& p : settings.seen->middle_mm) heights.emplace_back(p.x(), p.z());
  return HeightProfile(std::move(heights));
}

/// Where this camera must see the flats' mid-line: a height that is not known well shifts it by as
/// much as the camera looks aslant.
ExpectedMid expected_mid(const SeenBlade& seen, const StripFrame& frame, const CameraModel& camera,
                         const Transform<Camera, Card>& T_camera_card) {
  constexpr double kSure = 3.0;
  const auto at = [&](const Eigen::Vector3d& p_mm) {
    return frame.at(project(camera, T_camera_card * Point<Card>{p_mm}));
  };
  const Eigen::Vector3d &first = seen.middle_mm.front(), &last = seen.middle_mm.back();
  const Eigen::Vector2d begin = at(first), end = at(last);
  const double slope = (end.y() - begin.y()) / (end.x() - begin.x());
  const Eigen::Vector3d from = frame.camera_mm();
  const double aslant =
      (from.y() - 0.5 * (begin.y() + end.y())) / (from.z() - 0.5 * (first.z() + last.z()));
  return {.line = {begin.y() - slope * begin.x(), slope},
          .s_begin_mm = std::min(begin.x(), end.x()),
          .s_end_mm = std::max(begin.x(), end.x()),
          .within_mm = kSure * std::hypot(seen.u_across_mm, aslant * seen.u_height_mm)};
}

/// What the choice between pairs of borders leaves open: half of the largest distance between the
/// chosen pair's mid-line and a rival's, once both are laid through their borders.
/// @throws Error  So far apart that the photo does not say where the middle is.
double disagreement_mm(const LaneImage& image, const StripFrame& frame, const Inner& inner,
                       const ReadingPlan& plan, const FlatsPair& chosen,
                       const std::vector<FlatsPair>& rivals) {
  constexpr double kSameBorderPx = 0.5;
  constexpr double kMostMm = 0.10;
  const double middle = 0.5 * (chosen.s_begin_mm + chosen.s_end_mm);
  const double px_per_mm = frame.px_per_mm_across(middle, chosen.mid_mm(middle));
  double largest = 0.0;
  for (FlatsPair rival : rivals) {
    rival.s_begin_mm = chosen.s_begin_mm;
    rival.s_end_mm = chosen.s_end_mm;
    recentre(image, frame, inner.trace, plan, rival);
    const double apart = std::abs(rival.mid_mm(middle) - chosen.mid_mm(middle));
    if (apart * px_per_mm > kSameBorderPx) largest = std::max(largest, apart);
  }
  if (largest > kMostMm) {
    throw Error("two pairs of borders could be the blade's flats, " + in_mm(largest) +
                    " apart in the middle, and the photo does not say which is right",
                "light both flats so that their rims stand out from the jaws, move the camera "
                "straight over the edge, and give --edge-height, with the card, if you can measure "
                "it");
  }
  return 0.5 * largest;
}

/// What corners leave unknown where no card tells how borders spread, and the rims were read
/// without.
double unseen_corners_u_mm(const LaneImage& image, const StripFrame& frame, double px_per_mm,
                           const FlatsPair& flats, double blur_px) {
  constexpr double kUsualHalo = 0.2;
  const RimPair rough{.high = {.line = flats.high, .beside_mm = {}},
                      .low = {.line = flats.low, .beside_mm = {}},
                      .s_begin_mm = flats.s_begin_mm,
                      .s_end_mm = flats.s_end_mm};
  const auto corners = fit_corner_rims(image, frame, px_per_mm, rough, {blur_px, kUsualHalo});
  return std::hypot(kUsualCornerU, corners ? corners->u_mid_mm() : 0.0);
}

/// Rims read band by band keep their direction and come to lie where their corners put them.
/// False: they lie too far from there to be the same borders.
bool move_rims(const CornerRims& corners, std::vector<BandReadings>& bands) {
  constexpr double kMostPx = 1.2;
  const auto moved = [&](std::optional<Reading> BandReadings::*which, const StripLine& line) {
    std::vector<double> off;
    for (const BandReadings& band : bands) {
      if (band.*which) off.push_back(line.t_mm(band.s_mm) - (band.*which)->t_mm);
    }
    if (off.empty()) return true;
    const double by_mm = median(off);
    for (BandReadings& band : bands) {
      if (band.*which) (band.*which)->t_mm += by_mm;
    }
    return std::abs(by_mm) * bands.front().px_per_mm < kMostPx;
  };
  const bool high = moved(&BandReadings::flat_high, corners.high.line);
  return moved(&BandReadings::flat_low, corners.low.line) && high;
}

void shift_lines(std::vector<BandReadings>& bands, double by_mm) {
  for (BandReadings& band : bands) {
    for (auto* line : {&band.inner_high, &band.inner_low}) {
      if (*line) (*line)->t_mm += by_mm;
    }
  }
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
    band.inner_information = band.inner_information.reverse().eval();
    band.inner_sigmas = band.inner_sigmas.reverse().eval();
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

EdgeTrace trace_of(const std::vector<BandReadings>& bands,
                   std::optional<Reading> BandReadings::*which, EdgeTrace::Kind kind,
                   const StripFrame& frame, bool mirrored) {
  EdgeTrace trace;
  trace.kind = kind;
  for (const BandReadings& band : bands) {
    if (!(band.*which)) continue;
    const double sign = mirrored ? -1.0 : 1.0;
    trace.points_px.push_back(frame.pixel(sign * band.s_mm, sign * (band.*which)->t_mm));
    trace.u_px.push_back((band.*which)->u_mm * band.px_per_mm);
  }
  if (!bands.empty()) {
    trace.coverage =
        static_cast<double>(trace.points_px.size()) / static_cast<double>(bands.size());
  }
  return trace;
}

}  // namespace

cv::Rect lane_region(const StripFrame& on_card, const StripFrame& above, cv::Size size) {
  const Eigen::AlignedBox2d lane = card_layout(CardKind::edge).lane_mm();
  const double reach = 0.5 * lane.sizes().y() + kBesideLaneMm;
  double left = size.width, top = size.height, right = 0, bottom = 0;
  for (const StripFrame* frame : {&on_card, &above}) {
    for (int cut = 0; lane.min().x() + 5.0 * cut <= lane.max().x(); ++cut) {
      const double s = lane.min().x() + 5.0 * cut;
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

std::pair<double, double> visible_stretch(const StripFrame& frame, cv::Size size) {
  const Eigen::AlignedBox2d lane = card_layout(CardKind::edge).lane_mm();
  double low = 1e9, high = -1e9;
  for (int cut = 0; lane.min().x() + 0.5 * cut <= lane.max().x(); ++cut) {
    const double s = lane.min().x() + 0.5 * cut;
    const Eigen::Vector2d q = frame.pixel(s, 0.0);
    if (q.x() < 3 || q.y() < 3 || q.x() > size.width - 4 || q.y() > size.height - 4) continue;
    low = std::min(low, s);
    high = std::max(high, s);
  }
  return {low, high};
}

EdgeResult measure_at_pose(const Photo& photo, const CameraModel& camera, const CardPose& pose,
                           const EdgeSettings& settings, const StandIn* stand_in) {
  const StripFrame on_card(camera, pose.T_camera_card, 0.0, 0.0);
  const StripFrame above(camera, pose.T_camera_card, kHighestRimMm, 0.0);
  const StripFrame on_lane(camera, pose.T_camera_card, rim_heights(settings), 0.0);
  const cv::Rect region = lane_region(on_card, above, photo.pixels.size());
  const LaneImage as_stored = lane_image(photo.pixels, region);
  LaneImage image = as_stored;
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
  std::optional<CardLook> look = stand_in ? std::nullopt : card_look(image, on_card);
  if (look) {
    image = lane_image(photo.pixels, region, card_sharpening(as_stored, on_card));
    if (const auto plain = card_look(image, on_card)) look = plain;
  }
  if (look) require_not_blurred(*look);

  // A rim shows up to a pixel inside of its place (broken corner) or outside (tone curve, blur).
  const double flank_mm = 1.0 / px_per_mm;
  const double lowest = settings.edge_height_mm ? *settings.edge_height_mm - 2.5 : kLowestRimMm;
  const double highest = settings.edge_height_mm ? *settings.edge_height_mm + 2.5 : kHighestRimMm;
  FlatsSearch search{.width_low_mm = apparent(settings.thickness_mm, lowest, on_lane) - flank_mm,
                     .width_high_mm = apparent(settings.thickness_mm, highest, on_lane) + flank_mm};
  const double u_height = settings.edge_height_mm ? kGivenHeightU : kUsualHeightU;
  search.width_usual_mm = settings.thickness_mm;
  search.width_usual_u_mm =
      settings.thickness_mm * u_height / (on_lane.camera_mm().z() - on_lane.reference_height_mm());
  if (settings.seen) {
    search.mid = expected_mid(*settings.seen, on_lane, camera, pose.T_camera_card);
  }
  if (look) search.card_black = encoded_black(*look);
  if (stand_in) {
    search.width_low_mm = stand_in->width_low_mm;
    search.width_high_mm = stand_in->width_high_mm;
  }
  const Found found =
      stand_in ? found_without_card(image, on_lane, stretch, search, settings)
               : found_with_card({image, as_stored, on_lane, stretch, search, look, settings});
  const Located& at = found.at;
  require_no_bare_lane(photo.pixels, at, found.inner.trace);
  FlatsPair flats = at.flats;
  Inner inner = found.inner;
  const int handle = believed_handle(found, settings.tip);
  EdgeResult result;
  result.stage = inner.stage;
  PlungeLines plunges;
  ReadingPlan plan{.stage = inner.stage, .step_mm = settings.step_mm};
  plan.beside_high_mm = found.beside_high_mm;
  plan.beside_low_mm = found.beside_low_mm;
  plan.blur_px = typical_blur_px(image, at.frame, flats, inner.trace, plan)
                     .value_or(look ? look->blur_px : kUsualBlurPx);
  if (handle != 0) {
    plunges = find_plunges(as_stored, at.frame, at_the_edge(found, flats), inner.trace, inner.stage,
                           handle, plan.blur_px);
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
  if (!found.corners) {
    if (inner.stage != Stage::ground) choose_rim_looks(image, at.frame, flats, plan);
    recentre(image, at.frame, inner.trace, plan, flats);
    if (inner.stage != Stage::ground) choose_rim_looks(image, at.frame, flats, plan);
  }
  plan.corners = found.corners;
  std::vector<BandReadings> bands = read_bands(image, at.frame, flats, inner.trace, plan);
  if (inner.stage != Stage::scribed && look) {
    require_two_borders(third_border_share(image, at.frame, flats, inner.trace, plan), look,
                        mean_clipped_share(bands));
  }
  std::optional<CornerRims> corners = found.corners;
  if (inner.stage == Stage::bevelled && look && found.ricasso) {
    corners = fit_corner_rims(image, at.frame, at.px_per_mm, *found.ricasso, look->across);
    if (corners && !move_rims(*corners, bands)) fail_with_rims(look);
  }
  const bool lines = inner.stage == Stage::scribed;
  const double lamp = lines ? lamp_side(image, at.frame, flats, at.px_per_mm) : 0.0;
  if (lines) shift_lines(bands, groove_shift_mm(lamp));

  require_exposed(bands);
  double rival_u_mm = found.which_u_mm;
  if (inner.stage == Stage::ground) {
    rival_u_mm = std::hypot(rival_u_mm, fix_rims(found, settings.thickness_mm, bands));
  }
  if (stand_in) {
    rival_u_mm = std::hypot(
        stand_in->which_border_u_mm,
        disagreement_mm(image, at.frame, inner, plan, flats, as_clear(at, found.rivals)));
  }
  if (!stand_in) require_both_borders(bands, inner.stage);
  const Tip tip_seen = handle > 0 ? Tip::left : Tip::right;
  result.tip = settings.tip.value_or(tip_seen);
  result.tip_seen = settings.tip || (plunges.high && plunges.low);
  const bool mirrored = result.tip == Tip::left;
  const StripFrame plane = at.frame.in_plane();
  if (settings.seen) {
    bands = seen_from(plane, at.frame, std::move(bands), 1.0);
    for (std::optional<Reading>* plunge : {&plunges.high, &plunges.low}) {
      if (!*plunge) continue;
      const double s = (*plunge)->t_mm;
      (*plunge)->t_mm = plane.at(at.frame.pixel(s, flats.mid_mm(s))).x();
    }
  }
  if (mirrored) mirror(bands);
  const CameraPlace place = camera_place(plane, pose, mirrored);
  MetricSettings metric_settings{.stage = inner.stage,
                                 .thickness_mm = settings.thickness_mm,
                                 .thickness_u_mm = settings.thickness_u_mm,
                                 .edge_height_mm = settings.edge_height_mm,
                                 .facet_angle_rad = settings.facet_angle_rad,
                                 .jaw_squareness_u_rad = settings.jaw_squareness_u_rad,
                                 .reference_height_mm = on_lane.reference_height_mm(),
                                 .blur_px = plan.blur_px};
  metric_settings.rival_u_mm = rival_u_mm;
  metric_settings.dyed = image.dyed() && !corners;
  if (corners) {
    metric_settings.corner_u_mm = corners->u_mid_mm();
  } else if (lines) {
    metric_settings.corner_u_mm =
        unseen_corners_u_mm(image, at.frame, at.px_per_mm, flats, plan.blur_px);
  }
  if (lines) metric_settings.groove_u_mm = groove_u_mm(lamp);
  const double sign = mirrored ? -1.0 : 1.0;
  Metric metric = to_blade(bands, datum_of(bands, inner.stage), place, metric_settings);
  if (stand_in) {
    for (const OtherView& view : stand_in->others) {
      if (view.in_covariance) continue;
      CardPose other = pose;
      other.T_camera_card = view.T_camera_card;
      const StripFrame frame(view.camera, view.T_camera_card, on_lane.reference_height_mm(),
                             plane.direction_rad());
      const std::vector<BandReadings> seen = seen_from(frame, plane, bands, sign);
      widen(metric,
            to_blade(seen, datum_of(seen, inner.stage), camera_place(frame, other, mirrored),
                     metric_settings),
            view.cause);
    }
    widen_scale(metric, *stand_in, settings.thickness_mm, settings.thickness_u_mm, at.px_per_mm);
    judge_sharpness(metric, image, plane, flats, plan.blur_px);
  }

  // To the blade's own x, at the height of the edge.
  const double foot_s = sign * plane.camera_mm().x();
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
    const double u_view = stand_in ? plunge_mismatch_u_mm(*stand_in, plane, plunges, flats) : 0.0;
    result.plunge_mismatch_mm =
        Measured{left->value - right->value, std::hypot(left->u, right->u, u_view)};
  } else if (!metric.stations.empty()) {
    origin = along(metric.stations.front().x_mm);
  }
  for (std::size_t i = 0; i < metric.stations.size(); ++i) {
    EdgeStation& station = metric.stations[i];
    station.px = plane.pixel(sign * station.x_mm, sign * metric.middle_t_mm[i]);
    station.x_mm = along(station.x_mm) - origin;
  }
  // Stations before the first and behind the last reading say nothing.
  const auto measured = [](const EdgeStation& s) { return s.centreline_offset_mm.has_value(); };
  const auto first = std::find_if(metric.stations.begin(), metric.stations.end(), measured);
  const auto last = std::find_if(metric.stations.rbegin(), metric.stations.rend(), measured).base();
  if (first < last) result.stations.assign(first, last);

  result.traces = {
      trace_of(bands, &BandReadings::flat_high, EdgeTrace::Kind::flat_left, plane, mirrored),
      trace_of(bands, &BandReadings::flat_low, EdgeTrace::Kind::flat_right, plane, mirrored),
      trace_of(
          bands, &BandReadings::inner_high,
          inner.stage == Stage::scribed ? EdgeTrace::Kind::scribe_left : EdgeTrace::Kind::land_left,
          plane, mirrored),
      trace_of(bands, &BandReadings::inner_low,
               inner.stage == Stage::scribed ? EdgeTrace::Kind::scribe_right
                                             : EdgeTrace::Kind::land_right,
               plane, mirrored)};
  result.scale_px_per_mm = at.px_per_mm;
  result.blur_px = plan.blur_px;
  result.camera_distance_mm = place.height_mm - metric.edge_height_mm;
  if (!stand_in) {
    result.edge_height_mm = metric.edge_height_mm;
    result.edge_height_u_mm = metric.edge_height_u_mm;
    result.camera_lateral_mm = place.t_mm - sign * flats.mid_mm(plane.camera_mm().x());
    result.pose = pose;
  }
  summarise(result, metric);
  if (settings.monte_carlo && result.pose) {
    result.monte_carlo =
        check_law({bands, place, metric_settings}, metric, result, *settings.monte_carlo);
  }
  if (result.pose) {
    require_agreement(metric, place.height_mm, settings);
    require_usual_height(metric, settings);
    if (inner.stage == Stage::ground && !settings.stage)
      require_ricasso(found.ricasso_hidden, look, mean_clipped_share(bands));
    if (inner.stage != Stage::scribed) {
      if (!steady_borders(metric, inner.stage))
        require_clear_photo(look, mean_clipped_share(bands));
      require_steady_borders(metric, inner.stage);
    }
    if (!settings.tip && handle == 0 && result.centreline_offset_mm) {
      fail_without_tip(result.centreline_offset_mm->value);
    }
  }
  if (!stand_in && !plausible(result, settings))
    require_clear_photo(look, mean_clipped_share(bands));
  require_plausible(result, settings);
  if (result.coverage < 0.25 || result.stations.size() < 5) {
    if (!stand_in) require_clear_photo(look, mean_clipped_share(bands));
    throw Error("the edge could be measured at too few places: " +
                    std::to_string(static_cast<int>(100 * result.coverage)) +
                    " % of the stations, 25 % are needed",
                "light the edge evenly from both sides and take the photo again");
  }
  add_warnings(result, bands);
  if (handle != 0 && !result.plunge_mismatch_mm) {
    result.warnings.push_back(
        "The plunge lines do not show clearly enough to be measured: light them from the side.");
  }
  add_tip_warning(result, settings, handle != 0);
  if (stand_in) add_quick_look_words(result, camera, photo, settings.stage.has_value());
  return result;
}

}  // namespace evenbevel::edge
