#include "outline.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace evenbevel::side {
namespace {

constexpr double kNaN = std::numeric_limits<double>::quiet_NaN();

/// The border by brightness: levels nearer to it, for the lane lies in the blade's shade. Steel
/// hardly brighter than the lane would be placed by that shade.
constexpr LevelSearch kByBrightness{
    .reach_mm = 1.0, .apart_mm = 0.35, .least_step = 0.03, .least_ratio = 1.6, .steps_a_px = 4};
constexpr double kBlown = 0.9;   ///< Linear light: at the tone curve's upper end.
constexpr int kEdgeReachPx = 3;  ///< A border's own blur and sharpening reach this far.
constexpr double kMostApartMm =
    0.15;  ///< Of the borders by colour and by brightness: else a glint.

/// Mean of `channel` over a short line across `outward`.
float across_mean(const FaceImage& image, const cv::Mat& channel, const Eigen::Vector2d& at_mm,
                  const Eigen::Vector2d& tangent, int half_count) {
  float sum = 0.0F;
  int count = 0;
  for (int i = -half_count; i <= half_count; ++i) {
    const Eigen::Vector2d p = at_mm + i * image.step_mm * tangent;
    const double column = image.column(p.x()), row = image.row(p.y());
    if (column < 0 || row < 0 || column >= channel.cols - 1 || row >= channel.rows - 1) continue;
    sum += between(channel, column, row);
    ++count;
  }
  return count == 0 ? std::numeric_limits<float>::quiet_NaN() : sum / static_cast<float>(count);
}

double middle_of(std::vector<float>::const_iterator first,
                 std::vector<float>::const_iterator last) {
  std::vector<double> values(first, last);
  std::erase_if(values, [](double v) { return std::isnan(v); });
  return values.empty() ? kNaN : median(values);
}

/// Going in from outside, the first place with steel from there on for 0.5 mm.
std::optional<double> first_steel(const FaceImage& image, int column, double from_z, double to_z) {
  constexpr float kLevel = 0.2F;
  const int needed = std::max(3, static_cast<int>(0.5 / image.step_mm));
  const int begin = std::clamp(static_cast<int>(image.row(from_z)), 0, image.steel.rows - 1);
  const int end = std::clamp(static_cast<int>(image.row(to_z)), 0, image.steel.rows - 1);
  const int step = end > begin ? 1 : -1;
  int run = 0;
  for (int row = begin; row != end; row += step) {
    run = image.steel.at<float>(row, column) > kLevel ? run + 1 : 0;
    if (run == needed) return image.z(row - step * (needed - 1));
  }
  return std::nullopt;
}

/// Leaves out readings that stand off a line through their neighbours.
void drop_strays(Curve& curve, double within_mm) {
  constexpr int kReach = 8;
  const int count = static_cast<int>(curve.z_mm.size());
  std::vector<double> kept = curve.z_mm;
  for (int i = 0; i < count; ++i) {
    const auto own = static_cast<std::size_t>(i);
    if (std::isnan(curve.z_mm[own])) continue;
    // Middle of what pairs of neighbours, one a side, foretell.
    std::vector<double> foretold;
    for (int d = 1; d <= kReach; ++d) {
      if (i - d < 0 || i + d >= count) break;
      const double a = curve.z_mm[static_cast<std::size_t>(i - d)];
      const double b = curve.z_mm[static_cast<std::size_t>(i + d)];
      if (!std::isnan(a) && !std::isnan(b)) foretold.push_back(0.5 * (a + b));
    }
    if (foretold.size() >= 3 && std::abs(median(foretold) - curve.z_mm[own]) > within_mm)
      kept[own] = kNaN;
  }
  curve.z_mm = std::move(kept);
}

Curve rough_border(const FaceImage& image, const RoughBlade& blade, bool spine) {
  Curve curve;
  curve.first_mm = 0.0;
  const double outside = spine ? blade.height_mm + 4.0 : -4.0;
  const double beyond = spine ? -1.0 : blade.height_mm + 1.0;
  for (double x = 0.0; x <= blade.length_mm + 0.5; x += Curve::kStepMm) {
    const int column = static_cast<int>(std::lround(image.column(x)));
    std::optional<double> z;
    if (column >= 0 && column < image.steel.cols) z = first_steel(image, column, outside, beyond);
    curve.z_mm.push_back(z.value_or(kNaN));
  }
  return curve;
}

/// Brightness along a line from the inside of the blade to the lane.
struct Profile {
  std::vector<float> values;
  double first_mm = 0.0, step_mm = 0.0;
  double inside = 0.0, outside = 0.0;  ///< Levels away from the border.

  /// The nearest place to t = 0 where it falls through a share of the step.
  std::optional<double> fall_through(double share) const {
    const double level = outside + share * (inside - outside);
    std::optional<double> nearest;
    for (std::size_t i = 0; i + 1 < values.size(); ++i) {
      const auto a = static_cast<double>(values[i]), b = static_cast<double>(values[i + 1]);
      if (!(a >= level && b < level)) continue;
      const double t = first_mm + (static_cast<double>(i) + (a - level) / (a - b)) * step_mm;
      if (!nearest || std::abs(t) < std::abs(*nearest)) nearest = t;
    }
    return nearest;
  }
};

/// Empty: no clear step there.
std::optional<Profile> profile_at(const FaceImage& image, const cv::Mat& channel,
                                  const Eigen::Vector2d& at_mm, const Eigen::Vector2d& outward,
                                  const LevelSearch& search) {
  const Eigen::Vector2d tangent(-outward.y(), outward.x());
  const double step_mm = image.step_mm / search.steps_a_px;
  const int reach = static_cast<int>(search.reach_mm / step_mm);
  const int apart =
      std::max(kEdgeReachPx * search.steps_a_px, static_cast<int>(search.apart_mm / step_mm));
  const int half_width = static_cast<int>(search.half_width_mm / image.step_mm);
  Profile profile{{}, -reach * step_mm, step_mm, 0.0, 0.0};
  for (int i = -reach; i <= reach; ++i) {
    profile.values.push_back(
        across_mean(image, channel, at_mm + i * step_mm * outward, tangent, half_width));
  }
  const auto begin = profile.values.cbegin();
  profile.inside = middle_of(begin, begin + (reach - apart + 1));
  profile.outside = middle_of(begin + (reach + apart), profile.values.cend());
  if (!(profile.inside - profile.outside > search.least_step)) return std::nullopt;
  if (search.least_ratio > 0.0 && profile.inside < search.least_ratio * profile.outside)
    return std::nullopt;
  return profile;
}

double risen_to(double share) {  // Quantile of the normal distribution, by bisection.
  double low = -6.0, high = 6.0;
  for (int i = 0; i < 40; ++i) {
    const double middle = 0.5 * (low + high);
    (0.5 * std::erfc(-middle / std::sqrt(2.0)) < share ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

/// The border of steel that is blown out: the sensor's full scale cuts the blurred step off, and
/// half of what is left of it lies outside the border. How much was cut off shows in how steep the
/// rest is, for the photo's blur is known.
/// @param blur_mm  Standard deviation.
std::optional<double> blown_border(const Profile& profile, double blur_mm) {
  constexpr double kLow = 0.25, kHigh = 0.7, kMostTimes = 4.0;
  const std::optional<double> low = profile.fall_through(kLow), high = profile.fall_through(kHigh);
  if (!low || !high || *low <= *high) return std::nullopt;
  const double run = (*low - *high) / blur_mm;
  double less = 1.0, more = kMostTimes;  // Times full scale that the steel's light is.
  for (int i = 0; i < 30; ++i) {
    const double times = 0.5 * (less + more);
    const bool steeper = risen_to(kHigh / times) - risen_to(kLow / times) > run;
    (steeper ? less : more) = times;
  }
  return *high + blur_mm * risen_to(kHigh / (0.5 * (less + more)));
}

/// Where the border stands along `outward` from near it. Colour tells steel from the lane in any
/// shade, but most photos hold it for every second pixel only and spread it over the border: the
/// steel's red begins late, by 0.15 to 0.3 px. Brightness is there for every pixel: it places the
/// border wherever steel and lane differ in it.
std::optional<double> border_along(const FaceImage& image, const Eigen::Vector2d& near,
                                   const Eigen::Vector2d& outward) {
  std::optional<double> t = half_level(image, image.steel, near, outward, {});
  if (t && std::abs(*t) > 0.15) {
    const std::optional<double> again =
        half_level(image, image.steel, near + *t * outward, outward, {});
    t = again ? std::optional(*t + *again) : std::nullopt;
  }
  if (!t) return std::nullopt;
  const std::optional<Profile> light =
      profile_at(image, image.light, near + *t * outward, outward, kByBrightness);
  if (!light) return t;
  const std::optional<double> bright = light->inside > kBlown
                                           ? blown_border(*light, image.blur_px * image.step_mm)
                                           : light->fall_through(0.5);
  return bright && std::abs(*bright) < kMostApartMm ? *t + *bright : *t;
}

Curve refined_border(const FaceImage& image, const Curve& rough, bool spine) {
  Curve fine = rough;
  for (std::size_t i = 0; i < rough.z_mm.size(); ++i) {
    fine.z_mm[i] = kNaN;
    if (std::isnan(rough.z_mm[i])) continue;
    const double x = rough.x(i);
    double slope = rough.slope(x, 3.0);
    if (std::isnan(slope)) slope = 0.0;
    const double side = spine ? 1.0 : -1.0;
    const Eigen::Vector2d outward = Eigen::Vector2d(-side * slope, side).normalized();
    const Eigen::Vector2d at(x, rough.z_mm[i]);
    const std::optional<double> t = border_along(image, at, outward);
    if (!t) continue;
    const Eigen::Vector2d p = at + *t * outward;
    fine.z_mm[i] = p.y() - slope * (p.x() - x);
  }
  return fine;
}

double scatter_of(const Curve& curve) {
  std::vector<double> second;
  for (std::size_t i = 2; i < curve.z_mm.size(); ++i) {
    const double d = curve.z_mm[i] - 2.0 * curve.z_mm[i - 1] + curve.z_mm[i - 2];
    if (!std::isnan(d)) second.push_back(d);
  }
  if (second.size() < 8) return 0.05;
  return mad_sigma(second, 0.0) / std::sqrt(6.0);
}

std::vector<Eigen::Vector2d> find_heel(const FaceImage& image, const RoughBlade& blade) {
  std::vector<Eigen::Vector2d> heel;
  for (double z = 1.5; z < blade.height_mm - 1.5; z += Curve::kStepMm) {
    const std::optional<double> t = border_along(image, {0.0, z}, {-1.0, 0.0});
    if (t) heel.emplace_back(-*t, z);
  }
  return heel;
}

/// Where lines through the last mm of edge and spine cross.
std::optional<Eigen::Vector2d> find_tip(const Curve& edge, const Curve& spine, double length_mm) {
  constexpr double kFitMm = 5.0, kClearMm = 1.0;
  const double end = length_mm - kClearMm;
  const auto line = [&](const Curve& curve) -> std::optional<LineFit> {
    std::vector<Eigen::Vector2d> points;
    for (std::size_t i = 0; i < curve.z_mm.size(); ++i) {
      const double x = curve.x(i);
      if (x > end - kFitMm && x < end && !std::isnan(curve.z_mm[i]))
        points.emplace_back(x, curve.z_mm[i]);
    }
    if (points.size() < 5) return std::nullopt;
    return fit_line_robust(points);
  };
  const std::optional<LineFit> low = line(edge), high = line(spine);
  if (!low || !high) return std::nullopt;
  const double a = std::tan(low->direction_rad), b = std::tan(high->direction_rad);
  if (a - b < 0.05) return std::nullopt;  // a blunt end
  const double x =
      (high->centre.y() - b * high->centre.x() - low->centre.y() + a * low->centre.x()) / (a - b);
  if (std::abs(x - length_mm) > 4.0) return std::nullopt;
  return Eigen::Vector2d(x, high->centre.y() + b * (x - high->centre.x()));
}

}  // namespace

double Curve::at(double x_mm) const {
  const double place = (x_mm - first_mm) / kStepMm;
  if (z_mm.empty() || place < 0.0 || place > static_cast<double>(z_mm.size() - 1)) return kNaN;
  const auto i = std::min(static_cast<std::size_t>(place), z_mm.size() - 2);
  const double share = place - static_cast<double>(i);
  if (share < 1e-9) return z_mm[i];
  if (share > 1.0 - 1e-9) return z_mm[i + 1];
  return (1.0 - share) * z_mm[i] + share * z_mm[i + 1];
}

double Curve::slope(double x_mm, double reach_mm) const {
  double n = 0.0, sx = 0.0, sz = 0.0, sxx = 0.0, sxz = 0.0;
  for (double d = -reach_mm; d <= reach_mm; d += kStepMm) {
    const double z = at(x_mm + d);
    if (std::isnan(z)) continue;
    n += 1.0, sx += d, sz += z, sxx += d * d, sxz += d * z;
  }
  const double spread = n * sxx - sx * sx;
  return n < 3.0 || spread < 1e-9 ? kNaN : (n * sxz - sx * sz) / spread;
}

std::optional<double> half_level(const FaceImage& image, const cv::Mat& channel,
                                 const Eigen::Vector2d& at_mm, const Eigen::Vector2d& outward,
                                 const LevelSearch& search) {
  const std::optional<Profile> profile = profile_at(image, channel, at_mm, outward, search);
  return profile ? profile->fall_through(0.5) : std::nullopt;
}

Curve resampled(const std::vector<Eigen::Vector2d>& points) {
  constexpr double kGapMm = 2.0;
  Curve curve;
  if (points.size() < 2) return curve;
  curve.first_mm = std::ceil(points.front().x() / Curve::kStepMm) * Curve::kStepMm;
  std::size_t next = 1;
  for (double x = curve.first_mm; x <= points.back().x(); x += Curve::kStepMm) {
    while (next + 1 < points.size() && points[next].x() < x) ++next;
    const Eigen::Vector2d &a = points[next - 1], &b = points[next];
    const double run = b.x() - a.x();
    if (x < a.x() || run > kGapMm || run <= 0.0) {
      curve.z_mm.push_back(kNaN);
    } else {
      curve.z_mm.push_back(a.y() + (b.y() - a.y()) * (x - a.x()) / run);
    }
  }
  return curve;
}

Outline find_outline(const FaceImage& image, const RoughBlade& blade) {
  Outline outline;
  for (const bool spine : {false, true}) {
    Curve rough = rough_border(image, blade, spine);
    drop_strays(rough, 0.6);
    Curve fine = refined_border(image, rough, spine);
    drop_strays(fine, 0.25);
    (spine ? outline.spine : outline.edge) = std::move(fine);
  }
  if (blade.handle_seen) outline.heel = find_heel(image, blade);
  if (blade.tip_seen) outline.tip = find_tip(outline.edge, outline.spine, blade.length_mm);
  outline.scatter_mm = std::max(scatter_of(outline.edge), scatter_of(outline.spine));
  return outline;
}

}  // namespace evenbevel::side
