#include <algorithm>
#include <cmath>

#include "at_pose.hpp"
#include "blade.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/fit.hpp"
#include "evenbevel/gauge_view.hpp"
#include "evenbevel/trace.hpp"
#include "refusals.hpp"
#include "strip.hpp"

namespace evenbevel {
namespace {

using namespace edge;

constexpr double kWithin = 0.06;  // Of the nominal width.
constexpr double kLeastSupportMm = 15.0;
constexpr std::size_t kLeastPlaces = 10;
constexpr double kBesideMm = 0.4;       // Either side of a border, for its fit: the slot is near.
constexpr double kFarthestPx = 3.0;     // A border from where it was sought.
constexpr double kBorderBiasPx = 0.30;  // Two opposite borders, type B; as for a blade's width.
constexpr double kStartBlurPx = 0.9;

FoundCard card_of(const Photo& photo) {
  constexpr int kNeededCorners = 16;
  return require_card(grey8(photo.pixels), CardKind::edge, kNeededCorners);
}

/// The part of the photo around the lane.
cv::Rect lane_region(const StripFrame& frame, cv::Size size) {
  constexpr double kBesideLaneMm = 5.0;
  const Eigen::AlignedBox2d lane = card_layout(CardKind::edge).lane_mm();
  const double reach = 0.5 * lane.sizes().y() + kBesideLaneMm;
  std::vector<cv::Point2f> corners;
  for (double s = lane.min().x(); s <= lane.max().x(); s += 5.0) {
    for (const double t : {-reach, reach}) {
      const Eigen::Vector2d q = frame.pixel(s, t);
      corners.emplace_back(static_cast<float>(q.x()), static_cast<float>(q.y()));
    }
  }
  cv::Point low(size.width, size.height), high(0, 0);
  for (const cv::Point2f& q : corners) {
    low = {std::min(low.x, static_cast<int>(q.x)), std::min(low.y, static_cast<int>(q.y))};
    high = {std::max(high.x, static_cast<int>(q.x)), std::max(high.y, static_cast<int>(q.y))};
  }
  return cv::Rect(low - cv::Point(2, 2), high + cv::Point(3, 3)) & cv::Rect({}, size);
}

/// A border near `t_mm` in the band at s; empty when it cannot be fitted.
std::optional<double> border_mm(const LaneImage& image, const Located& at, double s_mm,
                                const StripLine& along) {
  const Band band{.s_mm = s_mm,
                  .t_mid_mm = along.t_mm(s_mm),
                  .slope = along.slope,
                  .half_length_mm = 0.5,
                  .t_low_mm = -kBesideMm,
                  .t_high_mm = kBesideMm};
  const std::vector<ProfileSample> samples =
      band_profile(image, &LaneImage::grey, at.frame, band, at.px_per_mm);
  constexpr std::size_t kLeastSamples = 12;
  if (samples.size() < kLeastSamples) return std::nullopt;
  const ProfileFit fit = fit_step(samples, 0.0, kStartBlurPx);
  const double position_px = fit.model.positions_px.front();
  if (!fit.converged || std::abs(position_px) > kFarthestPx) return std::nullopt;
  return band.t_mid_mm + position_px / at.px_per_mm;
}

std::vector<double> widths_mm(const LaneImage& image, const Located& at) {
  std::vector<double> widths;
  for (double s = at.flats.s_begin_mm + 0.5; s < at.flats.s_end_mm; s += 1.0) {
    const std::optional<double> high = border_mm(image, at, s, at.flats.high);
    const std::optional<double> low = border_mm(image, at, s, at.flats.low);
    // Across the gauge, not across the frame: they may be turned against each other.
    const double turn = 0.5 * (at.flats.high.slope + at.flats.low.slope);
    if (high && low) widths.push_back((*high - *low) / std::hypot(1.0, turn));
  }
  return widths;
}

[[noreturn]] void fail_without_gauge(double width_mm) {
  throw Error("no gauge of about " + in_mm(width_mm) + " was found in the card's lane",
              "lay it into the slot in the blade's place, so that both of its borders stand out "
              "from what lies beside them, and check --known and --edge-height");
}

}  // namespace

GaugeResult gauge_view(const Photo& photo, const CameraModel& camera,
                       const GaugeSettings& settings) {
  if (!camera.guessed) require_same_camera(camera, photo);
  const FoundCard card = card_of(photo);
  const CardPose pose = fit_card_pose(card, camera, settings.print);
  const StripFrame on_gauge(camera, pose.T_camera_card, settings.height_mm, 0.0);
  const LaneImage image = lane_image(photo.pixels, lane_region(on_gauge, photo.pixels.size()));
  const auto stretch = visible_stretch(on_gauge, photo.pixels.size());
  if (stretch.second - stretch.first < kLeastSupportMm) fail_without_gauge(settings.width_mm);
  const double flank_mm =
      1.0 / on_gauge.px_per_mm_across(0.5 * (stretch.first + stretch.second), 0.0);
  const FlatsSearch search{.width_low_mm = (1.0 - kWithin) * settings.width_mm - flank_mm,
                           .width_high_mm = (1.0 + kWithin) * settings.width_mm + flank_mm};
  const std::vector<Located> found = locate(image, on_gauge, stretch, search, kLeastSupportMm);
  if (found.empty()) fail_without_gauge(settings.width_mm);
  const Located& at = found.front();
  const std::vector<double> widths = widths_mm(image, at);
  if (widths.size() < kLeastPlaces) fail_without_gauge(settings.width_mm);

  GaugeResult result;
  result.places = static_cast<int>(widths.size());
  result.scale_px_per_mm = at.px_per_mm;
  const double width_mm = median(widths);
  result.scatter_mm = mad_sigma(widths, width_mm);
  const double distance_mm = on_gauge.camera_mm().z() - settings.height_mm;
  const double u_distance_mm =
      std::sqrt(pose.covariance_corners(5, 5) + pose.covariance_camera(5, 5));
  const double places = static_cast<double>(widths.size());
  // A median scatters by 1.25 of what a mean does.
  result.budget = {{"edge location", 1.25 * result.scatter_mm / std::sqrt(places)},
                   {"light on the borders", kBorderBiasPx / at.px_per_mm},
                   {"printed scale", width_mm * settings.print.u},
                   {"height", width_mm * settings.height_u_mm / distance_mm},
                   {"camera distance",
                    width_mm * settings.height_mm * u_distance_mm / (distance_mm * distance_mm)}};
  result.width_mm = combine(width_mm, result.budget);
  return result;
}

}  // namespace evenbevel
