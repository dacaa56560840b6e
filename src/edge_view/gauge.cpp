#include <algorithm>
#include <cmath>
#include <optional>

#include "blade.hpp"
#include "border/light_bias.hpp"
#include "card_look.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/fit.hpp"
#include "evenbevel/gauge_view.hpp"
#include "lane_picture.hpp"
#include "metric.hpp"
#include "readings.hpp"
#include "refusals.hpp"
#include "strip.hpp"
#include "support.hpp"
#include "uncertainty/neighbours.hpp"

namespace evenbevel {
namespace {

using namespace edge;

constexpr double kWithin = 0.04;  // Of the nominal width.
constexpr double kLeastLengthMm = 15.0;
constexpr std::size_t kLeastPlaces = 10;
// The rims of a plain top had 0.95 or more in the scenes tried, borders of the slot and the jaws
// mostly 0.7 or less.
constexpr double kLeastStrength = 0.85;
constexpr double kOffEndMm = 0.5;
constexpr double kMostApartMm = 0.1;
constexpr double kCornersMm = 0.020;  // Two broken corners of 0.05 mm, of which a rim may be read
                                      // anywhere: sqrt(2) 0.05 / sqrt(12).
constexpr double kApartMm = 1.0;      // Of places.

[[noreturn]] void fail_without_gauge(double width_mm) {
  throw Error(
      "no gauge of about " + length_words(width_mm, 3) + " was found in the card's lane",
      "clamp a flat one (gauge block, feeler gauge, a piece of ground stock) in the jaws in "
      "the blade's place, at least " +
          length_words(kLeastLengthMm, 0) +
          " of it in the slot, light it so that both rims stand "
          "out from the jaws, and check --known and --edge-height");
}

/// A pair of borders with what was read along it.
struct Candidate {
  double points = 0.0;  ///< How much speaks for it.
  double px_per_mm = 0.0;
  std::vector<double> widths_mm;

  double width_mm() const { return median(widths_mm); }
};

std::vector<double> widths_along(const LaneImage& image, const Located& at, double blur_px) {
  FlatsPair rims = at.flats;
  const InnerTrace nothing{.places = {{rims.s_begin_mm, 0.0, 0.0}}};
  ReadingPlan plan{.stage = Stage::scribed, .blur_px = blur_px};
  choose_rim_looks(image, at.frame, rims, plan);
  recentre(image, at.frame, nothing, plan, rims);
  choose_rim_looks(image, at.frame, rims, plan);
  std::vector<double> widths;
  // Across the gauge, not across the frame: they may be turned against each other.
  const double turn = 0.5 * (rims.high.slope + rims.low.slope);
  for (const BandReadings& band : read_bands(image, at.frame, rims, nothing, plan)) {
    if (!band.flat_high || !band.flat_low) continue;
    widths.push_back((band.flat_high->t_mm - band.flat_low->t_mm) / std::hypot(1.0, turn));
  }
  return widths;
}

/// Pairs that could be followed, the likeliest first.
std::vector<Candidate> candidates(const LaneImage& image, std::vector<Located> places,
                                  double blur_px) {
  std::vector<Candidate> all;
  for (Located& at : places) {
    const Support::Plain plain = Support(at.strip, at.px_per_mm).plain(at.flats);
    if (plain.strength < kLeastStrength || plain.length_mm() < kLeastLengthMm) continue;
    at.flats.s_begin_mm = plain.s_begin_mm + kOffEndMm;
    at.flats.s_end_mm = plain.s_end_mm - kOffEndMm;
    Candidate one{plain.strength * plain.length_mm(), at.px_per_mm,
                  widths_along(image, at, blur_px)};
    if (one.widths_mm.size() >= kLeastPlaces) all.push_back(std::move(one));
  }
  std::stable_sort(all.begin(), all.end(),
                   [](const Candidate& a, const Candidate& b) { return a.points > b.points; });
  return all;
}

/// Half of what the widths of pairs for which nearly as much speaks differ by.
double which_border_u_mm(const std::vector<Candidate>& all) {
  constexpr double kNearlyAsMuch = 0.7;
  double most = 0.0;
  for (const Candidate& other : all) {
    if (other.points < kNearlyAsMuch * all.front().points) continue;
    most = std::max(most, std::abs(other.width_mm() - all.front().width_mm()));
  }
  if (most > kMostApartMm) {
    throw Error("two pairs of borders could be the gauge's rims, " + length_words(most, 2) +
                    " apart in width, and the photo does not say which is right",
                "move the camera straight over the gauge, and light it so that its rims stand out "
                "from the jaws");
  }
  return 0.5 * most;
}

void require_no_blade(const LaneImage& image, const std::vector<Located>& places,
                      const std::pair<double, double>& stretch, const GaugeSettings& settings,
                      const std::optional<CardLook>& look) {
  EdgeSettings as_blade;
  as_blade.thickness_mm = settings.width_mm;
  const std::optional<edge::Blade> blade = find_blade(
      image, places, stretch, as_blade, look ? std::optional(look->blur_px) : std::nullopt);
  if (!blade) return;
  throw Error("what lies in the slot is no gauge with a plain top: it looks like a blade, " +
                  std::string(name(blade->inner.stage)),
              "clamp the gauge in the blade's place; a blade is measured with 'evenbevel edge'");
}

double u_camera_height_mm(const CardPose& pose) {
  const Eigen::Matrix3d R_card_camera = pose.T_camera_card.matrix.linear().transpose();
  const Eigen::Matrix3d covariance =
      R_card_camera * (pose.covariance_corners + pose.covariance_camera).bottomRightCorner<3, 3>() *
      R_card_camera.transpose();
  return std::sqrt(std::max(covariance(2, 2), 0.0));
}

}  // namespace

GaugeResult gauge_view(const Photo& photo, const CameraModel& file, const GaugeSettings& settings) {
  if (!file.guessed) require_same_camera(file, photo);
  constexpr int kNeededCorners = 16;
  const FoundCard card = require_card(grey8(photo.pixels), CardKind::edge, kNeededCorners);
  const auto [camera, pose] = see_card(card, file, settings.print);
  const StripFrame on_card(camera, pose.T_camera_card, 0.0, 0.0);
  const StripFrame on_gauge(camera, pose.T_camera_card, settings.height_mm, 0.0);
  const LaneImage image =
      lane_image(photo.pixels, lane_region(on_card, on_gauge, photo.pixels.size()));
  const auto stretch = visible_stretch(on_gauge, photo.pixels.size());
  if (stretch.second - stretch.first < kLeastLengthMm) fail_without_gauge(settings.width_mm);
  const double px_per_mm = on_gauge.px_per_mm_across(0.5 * (stretch.first + stretch.second), 0.0);
  const std::optional<CardLook> look = CardBorders(image, on_card).look();
  if (look) require_not_blurred(*look);
  FlatsSearch search{.width_low_mm = (1.0 - kWithin) * settings.width_mm - 1.0 / px_per_mm,
                     .width_high_mm = (1.0 + kWithin) * settings.width_mm + 1.0 / px_per_mm};
  if (look) search.card_black = encoded_black(*look);
  std::vector<Located> places = locate(image, on_gauge, stretch, search, kLeastLengthMm);
  require_no_blade(image, places, stretch, settings, look);
  const std::vector<Candidate> all =
      candidates(image, std::move(places), look ? look->blur_px : kUsualBlurPx);
  if (all.empty()) fail_without_gauge(settings.width_mm);
  const double u_which_mm = which_border_u_mm(all);
  const Candidate& best = all.front();

  GaugeResult result;
  result.places = static_cast<int>(best.widths_mm.size());
  result.scale_px_per_mm = best.px_per_mm;
  const double width_mm = best.width_mm();
  result.scatter_mm = mad_sigma(best.widths_mm, width_mm);
  const double distance_mm = on_gauge.camera_mm().z() - settings.height_mm;
  const double counted = independent(result.places * kApartMm, kBorderSharedMm);
  // A median scatters by 1.25 of what a mean does.
  result.width_mm = combine(
      width_mm, {{kFlatsLocation, 1.25 * result.scatter_mm / std::sqrt(counted)},
                 {kLight, light_bias::edge::kWidth / best.px_per_mm},
                 {kCorners, kCornersMm},
                 {kWhichBorder, u_which_mm},
                 {kScale, width_mm * settings.print.u},
                 {"height", width_mm * settings.height_u_mm / distance_mm},
                 {"camera height", width_mm * settings.height_mm * u_camera_height_mm(pose) /
                                       (distance_mm * distance_mm)}});
  return result;
}

}  // namespace evenbevel
