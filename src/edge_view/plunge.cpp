#include "plunge.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <future>
#include <utility>

#include <opencv2/imgproc.hpp>

namespace evenbevel::edge {
namespace {

constexpr double kBehindMm = 9.5;  // How far to look on the ricasso's side of the land's end,
constexpr double kBeforeMm = 7.5;  // and on the blade's side.

/// One side of the blade beside the land's end.
struct PlungeSide {
  double end_s_mm;  ///< Where a is 0;
  int toward_tip;   ///< +1: a grows with s.
  double rim_sign;  ///< +1: the rim toward positive t.
  double depth_mm, land_mm;
  double px_per_mm;
  double blur_mm;

  double s_mm(double a_mm) const { return end_s_mm + toward_tip * a_mm; }
};

PlungeSide side_of(const StripFrame& frame, const FlatsPair& flats, const InnerTrace& inner,
                   int handle_sign, double blur_px, bool high) {
  // Beside the plunge the land has not yet its width: take it a little way off.
  constexpr double kClearMm = 6.0;
  const double end = handle_sign > 0 ? inner.s_end_mm() : inner.s_begin_mm();
  const InnerTrace::Place land = inner.at(end - handle_sign * kClearMm);
  const double px_per_mm = frame.px_per_mm_across(end, flats.mid_mm(end));
  const double depth =
      high ? flats.high.t_mm(land.s_mm) - land.high_mm : land.low_mm - flats.low.t_mm(land.s_mm);
  return {end,       -handle_sign,       high ? 1.0 : -1.0, depth, land.high_mm - land.low_mm,
          px_per_mm, blur_px / px_per_mm};
}

/// What lies below the edge appears nearer to the camera's foot point: by this, over its depth.
double parallax(double at_mm, double foot_mm, const StripFrame& frame) {
  return (at_mm - foot_mm) / (frame.camera_mm().z() - frame.reference_height_mm());
}

/// How deep a facet is under the edge, over its width. Full bevels: usual ones, 20 mm on 1.5 mm.
double steepness(Stage stage) { return stage == Stage::bevelled ? 13.0 : 1.0; }

PlungePatch patch_of(const LaneImage& image, const StripFrame& frame, const FlatsPair& flats,
                     const PlungeSide& side, Stage stage) {
  // The facet's foot may appear inside of the rim, the broken corner's glint lies along it.
  constexpr double kGlintMm = 0.04, kBlurs = 1.6, kOfLand = 0.35;
  const double rim = (side.rim_sign > 0 ? flats.high : flats.low).t_mm(side.end_s_mm);
  const double inward = side.rim_sign * side.depth_mm * steepness(stage) *
                        parallax(rim, frame.camera_mm().y(), frame);
  const double y_begin =
      std::min(std::max(inward, 0.0) + kGlintMm + kBlurs * side.blur_mm, 0.4 * side.depth_mm);
  const double y_end = side.depth_mm + kOfLand * side.land_mm, step = 1.0 / side.px_per_mm;
  PlungePatch patch{
      .a_mm = {}, .y_mm = {}, .light = {}, .a_begin_mm = -kBehindMm, .a_end_mm = kBeforeMm};
  for (int r = 0; r <= static_cast<int>((y_end - y_begin) / step); ++r)
    patch.y_mm.push_back(y_begin + r * step);
  for (int c = 0; c <= static_cast<int>((kBehindMm + kBeforeMm) / step); ++c)
    patch.a_mm.push_back(patch.a_begin_mm + c * step);
  cv::Mat map(patch.rows(), patch.columns(), CV_32FC2);
  for (int r = 0; r < patch.rows(); ++r) {
    for (int c = 0; c < patch.columns(); ++c) {
      const double s = side.s_mm(patch.a_mm[static_cast<std::size_t>(c)]);
      const double t = (side.rim_sign > 0 ? flats.high : flats.low).t_mm(s) -
                       side.rim_sign * patch.y_mm[static_cast<std::size_t>(r)];
      const Eigen::Vector2d q = frame.pixel(s, t);
      map.at<cv::Vec2f>(r, c) = cv::Vec2f(static_cast<float>(q.x() - image.origin_px.x),
                                          static_cast<float>(q.y() - image.origin_px.y));
    }
  }
  cv::Mat light;
  cv::remap(image.grey.linear, light, map, {}, cv::INTER_CUBIC, cv::BORDER_REPLICATE);
  patch.light.resize(patch.rows(), patch.columns());
  for (int r = 0; r < patch.rows(); ++r) {
    for (int c = 0; c < patch.columns(); ++c) patch.light(r, c) = light.at<float>(r, c);
  }
  return patch;
}

/// @param take  Takes a, y and light of each sample.
template <class Take>
void for_samples(const PlungePatch& patch, const Take& take) {
  for (int r = 0; r < patch.rows(); ++r) {
    for (int c = 0; c < patch.columns(); ++c)
      take(patch.a_mm[static_cast<std::size_t>(c)], patch.y_mm[static_cast<std::size_t>(r)],
           patch.light(r, c));
  }
}

// Usual radii of a wheel's or platen's edge, and how much they differ (natural logarithm).
constexpr double kRadiusMm = 3.7, kLnRadiusU = 0.5;

OutlinePrior prior_of(const StripFrame& frame, const PlungeSide& side, Stage stage) {
  const bool bevelled = stage == Stage::bevelled;  // Dark, hardly a scratch to be seen: no lean.
  return {.depth_mm = side.depth_mm,
          .depth_u_mm = 0.03,
          .lean = bevelled
                      ? 0.0
                      : side.toward_tip * parallax(side.end_s_mm, frame.camera_mm().x(), frame),
          .lean_u = bevelled ? 1.0 : 0.15,
          .blur_mm = side.blur_mm,
          .ln_blur_u = 0.3,
          .radius_mm = kRadiusMm,
          .ln_radius_u = kLnRadiusU};
}

/// Too shallow or too small in the photo to have an outline.
bool too_small(const PlungeSide& side) {
  constexpr double kLeastDepthMm = 0.15, kLeastDepthPx = 6.0;
  return side.depth_mm < std::max(kLeastDepthMm, kLeastDepthPx / side.px_per_mm);
}

/// Share of the samples beside the outline that are beyond the camera's range, on the side that has
/// more of them.
double clipped_share(const PlungePatch& patch, const PlungeOutline& outline, double clip) {
  constexpr double kNearMm = 0.4;
  double clipped[2] = {0.0, 0.0}, all[2] = {1.0, 1.0};
  for_samples(patch, [&](double a_mm, double y_mm, double light) {
    const double inside = outline.inside_mm(a_mm, y_mm);
    if (a_mm > outline.end_mm() || std::abs(inside) > kNearMm) return;
    const int side = inside > 0.0 ? 1 : 0;
    all[side] += 1.0;
    if (light >= clip) clipped[side] += 1.0;
  });
  return std::max(clipped[0] / all[0], clipped[1] / all[1]);
}

/// Facet less face beside the outline, near the rim and near the land, over their mean light.
std::array<double, 2> contrasts(const PlungePatch& patch, const PlungeOutline& outline) {
  constexpr double kClearBlurs = 1.2, kWideMm = 0.25;
  constexpr double kNearRim = 0.4, kNearLand = 0.6;  // Shares of the depth.
  double light[2][2] = {}, count[2][2] = {};         // By place, then by side.
  for_samples(patch, [&](double a_mm, double y_mm, double sample) {
    const double share = y_mm / outline.depth_mm;
    if (a_mm > outline.end_mm() || (share > kNearRim && share < kNearLand) || share > 1.0) return;
    const double inside = outline.inside_mm(a_mm, y_mm);
    const double clear = std::abs(inside) - kClearBlurs * outline.blur_mm;
    if (clear < 0.0 || clear > kWideMm) return;
    const int place = share > kNearLand ? 1 : 0, side = inside > 0.0 ? 1 : 0;
    light[place][side] += sample;
    count[place][side] += 1.0;
  });
  std::array<double, 2> out{};
  for (std::size_t place = 0; place < 2; ++place) {
    if (count[place][0] == 0.0 || count[place][1] == 0.0) continue;
    const double face = light[place][0] / count[place][0];
    const double facet = light[place][1] / count[place][1];
    out[place] = (facet - face) / std::max(0.5 * (facet + face), 1e-6);
  }
  return out;
}

/// A fillet that is dark by the rim and bright by the land, or the reverse, has the face's own
/// shade somewhere between: there the outline does not show, and where the shade turns passes for
/// it. Where that is about half depth it leaves the middle half of the outline open.
double turning_u_mm(const PlungePatch& patch, const PlungeOutline& outline) {
  constexpr double kSeen = 0.04;               // Streaks of the belt differ by about as much.
  constexpr double kFirst = 0.3, kLast = 0.7;  // From a third of the depth to two thirds.
  const auto [by_rim, by_land] = contrasts(patch, outline);
  if (by_rim * by_land >= 0.0 || std::min(std::abs(by_rim), std::abs(by_land)) < kSeen) return 0.0;
  const double turn = by_rim / (by_rim - by_land);  // Of the way between the two places.
  if (turn < kFirst || turn > kLast) return 0.0;
  return 0.25 * outline.depth_mm * outline.run_at_half() / std::sqrt(3.0);
}

struct FoundPlunge {
  PlungeLine line;
  double clipped_u_mm = 0.0;
};

std::optional<FoundPlunge> find_one(const LaneImage& image, const StripFrame& frame,
                                    const FlatsPair& flats, const PlungeSide& side, Stage stage) {
  // Streaks, and what the fillet mirrors, pass for a part of the outline. RMS of one line, depths
  // as `place_plunges` puts them: 84 ground scenes under lamps, and 30 of full bevels, whose facets
  // fall away steeply.
  constexpr double kGroundArcMm = 0.022, kBevelledArcMm = 0.030;
  const double arc_mm = stage == Stage::bevelled ? kBevelledArcMm : kGroundArcMm;
  constexpr double kMostMm = 0.1, kLeastLogOdds = 3.0;
  // A blown out side reaches over its blurred border, by up to about its sigma.
  constexpr double kClippedBlurs = 0.7;
  if (too_small(side)) return std::nullopt;
  const PlungePatch patch = patch_of(image, frame, flats, side, stage);
  const OutlineFit fit = fit_outline(patch, prior_of(frame, side, stage));
  const double u_mm = std::hypot(fit.u_half_mm, arc_mm);
  if (!(u_mm < kMostMm) || fit.log_odds < kLeastLogOdds) return std::nullopt;
  const double clipped = clipped_share(patch, fit.outline, image.clip);
  return FoundPlunge{
      {.outline = fit.outline,
       .zero_s_mm = side.end_s_mm,
       .toward_tip = side.toward_tip,
       .u_mm = std::hypot(u_mm, turning_u_mm(patch, fit.outline))},
      clipped * kClippedBlurs * side.blur_mm * std::hypot(1.0, fit.outline.run_at_half())};
}

/// What `find` gives of the high and of the low side, found at once: they share nothing but the
/// picture, and each takes a sixth of a photo's time.
template <class Find>
auto both_sides(const Find& find) {
  auto low = std::async(std::launch::async, find, false);
  auto high = find(true);
  return std::pair(std::move(high), low.get());
}

}  // namespace

PlungeLines find_plunges(const LaneImage& image, const StripFrame& frame, const FlatsPair& flats,
                         const InnerTrace& inner, Stage stage, int handle_sign, double blur_px) {
  const auto find = [&](bool high) {
    return find_one(image, frame, flats, side_of(frame, flats, inner, handle_sign, blur_px, high),
                    stage);
  };
  const auto [high, low] = both_sides(find);
  // Light beyond the camera's range moves both alike: what it moves both by says nothing of them.
  const double both_u_mm = high && low ? std::min(high->clipped_u_mm, low->clipped_u_mm) : 0.0;
  const auto line = [&](const std::optional<FoundPlunge>& found) -> std::optional<PlungeLine> {
    if (!found) return std::nullopt;
    PlungeLine out = found->line;
    out.u_mm = std::hypot(out.u_mm, found->clipped_u_mm - both_u_mm);
    return out;
  };
  return {.high = line(high), .low = line(low)};
}

double plunge_evidence(const LaneImage& image, const StripFrame& frame, const FlatsPair& flats,
                       const InnerTrace& inner, Stage stage, int handle_sign, double blur_px) {
  const auto find = [&](bool high) {
    const PlungeSide side = side_of(frame, flats, inner, handle_sign, blur_px, high);
    if (too_small(side)) return 0.0;
    return outline_log_odds(patch_of(image, frame, flats, side, stage),
                            prior_of(frame, side, stage));
  };
  const auto [high, low] = both_sides(find);
  return high + low;
}

}  // namespace evenbevel::edge
