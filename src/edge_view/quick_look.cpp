#include "quick_look.hpp"

#include <algorithm>
#include <cmath>

#include <opencv2/core.hpp>

#include "blade.hpp"
#include "border/light_bias.hpp"
#include "borders.hpp"
#include "card_look.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/fit.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel::edge {
namespace {

/// The camera is held within 10 degrees of over the edge, any angle as likely: assumed, and said.
const double kTiltURad = radians(10.0) / std::sqrt(3.0);
constexpr double kAlongMm = 8.0;      // Borders are smoothed over this length.
constexpr double kEitherShare = 0.6;  // u over the distance of two of which either may be right.
constexpr double kNearestMm = 110.0, kFarthestMm = 700.0;  // Set-up: 200-400 mm.

/// A line in the plane at distance 1, how far away the blade on it is, and by how much that grows
/// along it.
struct BladeLine {
  Eigen::Vector2d middle, along;
  double distance_mm;
  double tilt_rad = 0.0;
};

/// The plane through the blade's rims; tilted about the middle by `across_rad` about the blade.
Transform<Camera, Card> plane_through(const BladeLine& line, double across_rad) {
  const Eigen::Vector3d x(line.along.x(), line.along.y(), 0.0);
  const Eigen::Vector3d z(0.0, 0.0, -1.0);
  Eigen::Matrix3d level;
  level << x, z.cross(x), z;
  Transform<Camera, Card> T_camera_card;
  T_camera_card.matrix.linear() =
      level * (Eigen::AngleAxisd(line.tilt_rad, Eigen::Vector3d::UnitY()) *
               Eigen::AngleAxisd(across_rad, Eigen::Vector3d::UnitX()))
                  .toRotationMatrix();
  const Eigen::Vector3d at =
      line.distance_mm * Eigen::Vector3d(line.middle.x(), line.middle.y(), 1);
  T_camera_card.matrix.translation() =
      at - T_camera_card.matrix.linear() * Eigen::Vector3d(0.0, 0.0, kUsualEdgeHeightMm);
  return T_camera_card;
}

/// Covariance of a pose that turns about a point in the rims' plane, by angles about the blade and
/// about the line across it, independent.
CardPose pose_of(const BladeLine& line, double u_across_rad, double u_along_rad) {
  CardPose pose;
  pose.T_camera_card = plane_through(line, 0.0);
  const Eigen::Matrix3d R = pose.T_camera_card.matrix.linear();
  const Eigen::Matrix<double, 6, 3> J =
      step_by_turn_about(pose.T_camera_card, Point<Card>{{0.0, 0.0, kUsualEdgeHeightMm}});
  const Eigen::Matrix3d turns = u_across_rad * u_across_rad * R.col(0) * R.col(0).transpose() +
                                u_along_rad * u_along_rad * R.col(1) * R.col(1).transpose();
  pose.covariance_corners = J * turns * J.transpose();
  return pose;
}

/// Which way along the blade is right in the upright picture, or up when it stands upright.
Eigen::Vector2d to_the_right(const Eigen::Vector2d& along, const Photo& photo) {
  const cv::Size size = photo.pixels.size();
  const cv::Point2d from = upright_point({0.0, 0.0}, size, photo.orientation);
  const cv::Point2d to = upright_point({along.x(), along.y()}, size, photo.orientation);
  const double right = to.x - from.x, up = from.y - to.y;
  return right + up > 0.0 ? along : Eigen::Vector2d(-along);
}

/// Mean gradient along a rim, its neighbours within a px or so included, grey levels per px.
double clearness(const Located& at, const cv::Mat& gradient, const StripLine& rim) {
  constexpr int kBesideRows = 2;
  double sum = 0.0;
  int columns = 0;
  for (int column = 0; column < gradient.cols; ++column) {
    const double s = at.strip.s_mm(column);
    if (s < at.flats.s_begin_mm || s > at.flats.s_end_mm) continue;
    const int row = static_cast<int>(std::lround((rim.t_mm(s) - at.strip.t0_mm) / at.strip.dt_mm));
    if (row < kBesideRows || row + kBesideRows >= gradient.rows) continue;
    const cv::Mat beside =
        cv::abs(gradient.col(column).rowRange(row - kBesideRows, row + kBesideRows + 1));
    double largest = 0.0;
    cv::minMaxLoc(beside, nullptr, &largest);
    sum += largest;
    ++columns;
  }
  return columns > 0 ? sum / columns : 0.0;
}

struct Sighting {
  BladeLine line;
  Blade blade;
  double score = 0.0;
  double offset_mm = 0.0;  ///< Of the inner pair's middle, roughly.
};

Eigen::Vector2d on_image_plane(const CameraModel& camera, const Eigen::Vector2d& q_px) {
  return ray(camera, q_px).head<2>();
}

std::optional<Sighting> look_at(const LaneImage& image, const CameraModel& camera,
                                const BladeLine& line, const EdgeSettings& settings) {
  constexpr double kWidthShare = 0.15;
  constexpr double kLeastPxPerMm = 5.0, kLeastStretchMm = 30.0;
  const StripFrame frame(camera, plane_through(line, 0.0), kUsualEdgeHeightMm, 0.0);
  const auto stretch = visible_stretch(frame, image.grey.encoded.size());
  if (stretch.second - stretch.first < kLeastStretchMm) return std::nullopt;
  if (frame.px_per_mm_across(0.5 * (stretch.first + stretch.second), 0.0) < kLeastPxPerMm) {
    return std::nullopt;
  }
  const FlatsSearch search{.width_low_mm = (1.0 - kWidthShare) * settings.thickness_mm,
                           .width_high_mm = (1.0 + kWidthShare) * settings.thickness_mm};
  std::optional<Blade> blade = find_blade(
      image, locate(image, frame, stretch, search, kLeastFlatsMm), stretch, settings, std::nullopt);
  if (!blade) return std::nullopt;
  const FlatsPair& flats = blade->at.flats;
  const InnerTrace& inner = blade->inner.trace;
  const double s = 0.5 * (inner.s_begin_mm() + inner.s_end_mm());
  const InnerTrace::Place land = inner.at(s);
  const double scale = settings.thickness_mm / flats.width_mm(s);
  const double inner_mm = inner.s_end_mm() - inner.s_begin_mm();
  const cv::Mat gradient = gradient_across(blade->at.strip, blade->at.px_per_mm, kAlongMm);
  const double clear = std::min(clearness(blade->at, gradient, flats.high),
                                clearness(blade->at, gradient, flats.low));
  const double score = std::min(flats.support_mm, inner_mm) * scale * blade->at.px_per_mm *
                       -blade->inner.log_misfit * std::sqrt(clear);
  const double offset_mm = scale * (0.5 * (land.low_mm + land.high_mm) - flats.mid_mm(s));
  return Sighting{line, std::move(*blade), score, offset_mm};
}

/// How far other borders lie from a rim, at most: mean gradient along lines parallel to it.
double farthest_other_mm(const Located& at, const cv::Mat& gradient, const StripLine& rim) {
  constexpr double kReachShare = 0.13;  // Of the thickness.
  constexpr double kOwnPx = 1.7;
  constexpr double kAsClear = 0.2;  // Of the rim's own gradient.
  const double reach_mm = kReachShare * at.flats.width_mm(0.0);
  const int reach = static_cast<int>(std::ceil(reach_mm / at.strip.dt_mm));
  std::vector<double> mean(static_cast<std::size_t>(2 * reach + 1), 0.0);
  const auto index = [reach](int offset) {
    const int i = offset + reach;
    return static_cast<std::size_t>(i);
  };
  for (int column = 0; column < gradient.cols; ++column) {
    const double s = at.strip.s_mm(column);
    if (s < at.flats.s_begin_mm || s > at.flats.s_end_mm) continue;
    const int row = static_cast<int>(std::lround((rim.t_mm(s) - at.strip.t0_mm) / at.strip.dt_mm));
    for (int o = -reach; o <= reach; ++o) {
      if (row + o < 0 || row + o >= gradient.rows) continue;
      mean[index(o)] += gradient.at<float>(row + o, column);
    }
  }
  const int own = static_cast<int>(std::lround(kOwnPx / at.px_per_mm / at.strip.dt_mm));
  double rims = 0.0, farthest = 0.0;
  for (int o = -own; o <= own; ++o) {
    rims = std::max(rims, std::abs(mean[index(o)]));
  }
  for (int o = -reach + 1; o < reach; ++o) {
    const std::size_t i = index(o);
    const double here = std::abs(mean[i]);
    if (std::abs(o) <= own || here < kAsClear * rims) continue;
    if (here < std::abs(mean[i - 1]) || here < std::abs(mean[i + 1])) continue;
    farthest = std::max(farthest, std::abs(o) * at.strip.dt_mm);
  }
  return farthest;
}

/// The same blade through another focal length: the thickness on the picture stays.
BladeLine farther(BladeLine line, const CameraModel& other, const CameraModel& camera) {
  const double ratio = other.focal_px.x() / camera.focal_px.x();
  line.middle /= ratio;
  line.distance_mm *= ratio;
  return line;
}

struct Tilted {
  BladeLine line;
  double u_tilt_rad;
};

/// The blade's own line, its distance from the thickness, and its tilt from how the flats' borders
/// converge: both are T apart everywhere. Short flats say little, and what is assumed of the camera
/// counts more (a weighted mean of the two).
Tilted line_of(const Sighting& found, const CameraModel& camera, const Photo& photo,
               double thickness_mm) {
  constexpr double kBorderPx = 0.4;  // A border against itself, at one end and at the other.
  constexpr double kMostTiltRad = 0.3;
  const Located& at = found.blade.at;
  const FlatsPair& flats = at.flats;
  const InnerTrace& inner = found.blade.inner.trace;
  const double from = std::min(flats.s_begin_mm, inner.s_begin_mm());
  const double to = std::max(flats.s_end_mm, inner.s_end_mm());
  const double middle = 0.5 * (from + to), width = flats.width_mm(middle);
  const auto there = [&](double s) {
    return on_image_plane(camera, at.frame.pixel(s, flats.mid_mm(s)));
  };
  const Eigen::Vector2d way = (there(to) - there(from)).normalized();
  BladeLine line{there(middle), to_the_right(way, photo),
                 found.line.distance_mm * thickness_mm / width};
  const double length = flats.s_end_mm - flats.s_begin_mm;
  const double rate = (flats.high.slope - flats.low.slope) / width;  // Per frame's mm; D is too.
  const double u_rate = 2.0 * kBorderPx / (at.px_per_mm * width) / length;
  const double prior = kTiltURad * kTiltURad;
  const double weight = prior / (prior + std::pow(u_rate * found.line.distance_mm, 2));
  const double sense = line.along.dot(way) > 0.0 ? 1.0 : -1.0;
  line.tilt_rad =
      -sense * weight * std::clamp(rate * found.line.distance_mm, -kMostTiltRad, kMostTiltRad);
  return {line, std::sqrt(prior * (1.0 - weight))};
}

/// Whole pairs of borders that explain the photo about as well as the best: what that leaves
/// unknown of the middle, standard uncertainty.
double which_candidate_u_mm(const std::vector<Sighting>& candidates) {
  constexpr double kNearlyAsWell = 0.6;
  double farthest = 0.0;
  for (const Sighting& other : candidates) {
    if (other.score < kNearlyAsWell * candidates.front().score) break;
    farthest = std::max(farthest, std::abs(other.offset_mm - candidates.front().offset_mm));
  }
  return kEitherShare * farthest;
}

void require_told_apart(double u_mm) {
  constexpr double kMostMm = 0.15;
  if (u_mm <= kMostMm) return;
  throw Error(
      "the flats cannot be told from what lies beside them: without a card the middle "
      "could be " +
          length_words(u_mm, 2) + " off",
      "lay the edge card, or light both flats so that their rims stand out from the jaws");
}

}  // namespace

std::vector<FlatsPair> as_clear(const Located& at, const std::vector<FlatsPair>& rivals) {
  constexpr double kNearlyAsWell = 0.5;
  const cv::Mat gradient = gradient_across(at.strip, at.px_per_mm, kAlongMm);
  const auto clear = [&](const FlatsPair& pair) {
    return std::min(clearness(at, gradient, pair.high), clearness(at, gradient, pair.low));
  };
  std::vector<FlatsPair> left;
  for (const FlatsPair& rival : rivals) {
    if (clear(rival) > kNearlyAsWell * clear(at.flats)) left.push_back(rival);
  }
  return left;
}

double which_border_u_mm(const Located& at) {
  const cv::Mat gradient = gradient_across(at.strip, at.px_per_mm, kAlongMm);
  return kEitherShare * 0.5 *
         std::hypot(farthest_other_mm(at, gradient, at.flats.high),
                    farthest_other_mm(at, gradient, at.flats.low));
}

void fail_quick_look() {
  throw Error("no blade with scribe lines or a ground edge was found in the photo",
              "come closer, hold the camera over the edge with the edge in the middle of the "
              "picture, light it so that its rims and lines show, or lay the edge card");
}

StandIn find_without_card(const Photo& photo, const CameraModel& camera,
                          const EdgeSettings& settings) {
  constexpr int kMost = 12;
  constexpr double kWidthShare = 0.04;
  constexpr double kMostOffsetShare = 0.10;  // Beyond it no maker needs a gauge.
  const double thickness_mm = settings.thickness_mm;
  const LaneImage image = lane_image(photo.pixels, cv::Rect({}, photo.pixels.size()));
  std::vector<Sighting> candidates;
  for (const BorderPair& pair :
       long_border_pairs(image.grey.encoded, camera, thickness_mm / kFarthestMm,
                         thickness_mm / kNearestMm, kMost)) {
    const BladeLine line{pair.middle, to_the_right(pair.along, photo), thickness_mm / pair.width};
    auto seen = look_at(image, camera, line, settings);
    if (!seen || std::abs(seen->offset_mm) > kMostOffsetShare * thickness_mm) continue;
    candidates.push_back(std::move(*seen));
  }
  if (candidates.empty()) fail_quick_look();
  std::stable_sort(candidates.begin(), candidates.end(),
                   [](const Sighting& a, const Sighting& b) { return a.score > b.score; });
  const Sighting& best = candidates.front();
  const Tilted found = line_of(best, camera, photo, thickness_mm);

  StandIn out;
  out.which_border_u_mm =
      std::hypot(which_border_u_mm(best.blade.at), which_candidate_u_mm(candidates));
  require_told_apart(out.which_border_u_mm);
  const LensMatrix covariance = covariance_or_typical(camera);
  const double u_axis_rad =
      std::sqrt(covariance(kCentreAt + 1, kCentreAt + 1)) / camera.focal_px.y();
  const double u_across_rad = std::hypot(kTiltURad, u_axis_rad);
  out.pose = pose_of(found.line, u_across_rad, found.u_tilt_rad);
  out.width_low_mm = (1.0 - kWidthShare) * thickness_mm;
  out.width_high_mm = (1.0 + kWidthShare) * thickness_mm;
  BladeLine tilted = found.line;
  tilted.tilt_rad += found.u_tilt_rad;
  CameraModel bent = camera;
  bent.lens[0] += std::sqrt(covariance(kCoefficientsAt, kCoefficientsAt));
  CameraModel longer = camera;
  longer.focal_px.array() += std::sqrt(covariance(kFocalAt, kFocalAt));
  out.others = {{"tilt along the blade", camera, plane_through(tilted, 0.0)},
                {"tilt across the blade", camera, plane_through(found.line, u_across_rad), true},
                {"lens", bent, out.pose.T_camera_card},
                {"focal length", longer, plane_through(farther(found.line, longer, camera), 0.0)}};
  return out;
}

void widen(Metric& metric, const Metric& other, const std::string& cause) {
  constexpr double kLeastU = 1e-9;  // mm
  double sum = 0.0;
  int count = 0;
  for (std::size_t i = 0; i < metric.stations.size() && i < other.stations.size(); ++i) {
    EdgeStation& station = metric.stations[i];
    const std::optional<Measured>& theirs = other.stations[i].centreline_offset_mm;
    if (!station.centreline_offset_mm || !theirs) continue;
    const double difference = theirs->value - station.centreline_offset_mm->value;
    station.centreline_offset_mm =
        with_line(*station.centreline_offset_mm, {cause, std::max(std::abs(difference), kLeastU)});
    sum += difference;
    ++count;
  }
  if (count == 0 || !metric.mean_offset_mm) return;
  metric.mean_offset_mm =
      with_line(*metric.mean_offset_mm, {cause, std::max(std::abs(sum / count), kLeastU)});
}

double plunge_mismatch_u_mm(const StandIn& stand_in, const StripFrame& frame,
                            const PlungeLines& plunges, const FlatsPair& flats) {
  if (!plunges.high || !plunges.low) return 0.0;
  const auto mismatch = [&](const StripFrame& in) {
    const double high = plunges.high->s_mm(), low = plunges.low->s_mm();
    return in.at(frame.pixel(high, flats.high.t_mm(high))).x() -
           in.at(frame.pixel(low, flats.low.t_mm(low))).x();
  };
  double variance = 0.0;
  for (const OtherView& view : stand_in.others) {
    const StripFrame other(view.camera, view.T_camera_card, frame.reference_height_mm(),
                           frame.direction_rad());
    variance += std::pow(mismatch(other) - mismatch(frame), 2);
  }
  return std::sqrt(variance);
}

void add_line(Metric& metric, const std::string& cause, double u_mm) {
  for (EdgeStation& station : metric.stations) {
    if (!station.centreline_offset_mm) continue;
    station.centreline_offset_mm = with_line(*station.centreline_offset_mm, {cause, u_mm});
  }
  if (!metric.mean_offset_mm) return;
  metric.mean_offset_mm = with_line(*metric.mean_offset_mm, {cause, u_mm});
}

void widen_scale(Metric& metric, const StandIn& stand_in, double thickness_mm,
                 double thickness_u_mm, double px_per_mm) {
  const double relative = std::hypot(2.0 * stand_in.which_border_u_mm, thickness_u_mm,
                                     light_bias::edge::kWidth / px_per_mm) /
                          thickness_mm;
  for (EdgeStation& station : metric.stations) {
    station.thickness_mm.reset();
    for (auto* width : {&station.line_gap_mm, &station.land_width_mm, &station.facet_width_left_mm,
                        &station.facet_width_right_mm}) {
      if (*width) *width = with_line(**width, {kScale, relative * std::abs((*width)->value)});
    }
  }
}

void judge_sharpness(Metric& metric, const LaneImage& image, const StripFrame& frame,
                     const FlatsPair& flats, double inner_blur_px) {
  constexpr std::size_t kEnough = 6;
  // Type B, px: a border's place beside another depends on the blur, and that is not known well.
  constexpr double kSharpUPx = 0.05, kUnreadUPx = 0.05, kSoftShare = 0.15;
  std::vector<double> blurs;
  const double step = std::max(1.0, (flats.s_end_mm - flats.s_begin_mm) / 30.0);
  double px_per_mm = 1.0;
  for (int place = 1; flats.s_begin_mm + place * step < flats.s_end_mm; ++place) {
    const double s = flats.s_begin_mm + place * step;
    for (const StripLine* rim : {&flats.high, &flats.low}) {
      const double t = rim->t_mm(s);
      px_per_mm = frame.px_per_mm_across(s, t);
      const double reach = 6.0 / px_per_mm;
      const ProfileFit fit = fit_step(band_profile(image, &LaneImage::flats, frame,
                                                   {.s_mm = s,
                                                    .t_mid_mm = t,
                                                    .slope = rim->slope,
                                                    .half_length_mm = 0.5,
                                                    .t_low_mm = -reach,
                                                    .t_high_mm = reach},
                                                   px_per_mm),
                                      0.0, 1.2);
      if (fit.converged && std::abs(fit.model.parts[0].amplitude) > 5.0 * fit.rms) {
        blurs.push_back(fit.model.blur_px);
      }
    }
  }
  const bool rims_read = blurs.size() >= kEnough;
  const double blur = rims_read ? std::max(median(blurs), inner_blur_px) : inner_blur_px;
  if (blur > kMostBlurPx && inner_blur_px <= kMostBlurPx) {
    throw Error("the borders taken for the flats' rims are " + std::to_string(blur).substr(0, 3) +
                    " px soft while the edge is sharp: they lie deeper and are probably the jaws'",
                "lay the edge card, or hold the camera so that both flats' rims show");
  }
  if (blur > kMostBlurPx) {
    throw Error("the photo is blurred: borders are " + std::to_string(blur).substr(0, 4) +
                    " px soft, " + std::to_string(kMostBlurPx).substr(0, 3) +
                    " px is the most that can be used",
                "hold the phone steady or rest it on something, tap on the edge to focus, give it "
                "more light, and take the photo again");
  }
  const double u_px =
      kSharpUPx + (rims_read ? 0.0 : kUnreadUPx) + kSoftShare * std::max(0.0, blur - kUsualBlurPx);
  add_line(metric, "sharpness, not seen on a card", u_px / px_per_mm);
}

void add_quick_look_words(EdgeResult& result, const CameraModel& camera, const Photo& photo,
                          bool stage_given) {
  result.warnings.insert(result.warnings.begin(), remark<RemarkCode::quick_look>());
  if (camera.guessed && !photo.camera.focal_length_35mm) {
    result.warnings.push_back(remark<RemarkCode::lens_assumed>());
  }
  if (!stage_given && result.stage != Stage::scribed) {
    result.warnings.push_back(remark<RemarkCode::stage_assumed>(std::string(name(result.stage))));
  }
  Remark lay_card = remark<RemarkCode::lay_edge_card>();
  if (result.centreline_offset_mm && !result.centreline_offset_mm->budget.empty()) {
    const auto largest =
        std::ranges::max_element(result.centreline_offset_mm->budget, {}, &BudgetLine::u);
    lay_card = largest->cause == kLight
                   ? remark<RemarkCode::lay_edge_card_and_soften_light>(largest->cause)
                   : remark<RemarkCode::lay_edge_card_against>(largest->cause);
  }
  result.advice.insert(result.advice.begin(), lay_card);
}

}  // namespace evenbevel::edge
