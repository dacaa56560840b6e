#include "plunge.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <vector>

#include <opencv2/imgproc.hpp>

namespace evenbevel::edge {
namespace {

constexpr double kBeforeMm = 8.0;     // How far to look on the ricasso's side of the land's end,
constexpr double kBehindMm = 4.0;     // and on the blade's side.
constexpr double kBandHalfMm = 0.06;  // Rows averaged about the half depth.
// What the place of a plunge line was off by, RMS over a hundred random scenes for two lines, over
// sqrt(2) for one: beside a ground edge the rounded shoulder may look like the facet or the face.
constexpr double kGroundOutlineMm = 0.20;
constexpr double kBevelledOutlineMm = 0.05;

/// Mean linear light along s at a distance t from the mid-line, every half px.
std::vector<ProfileSample> row_profile(const LaneImage& image, const StripFrame& frame,
                                       const FlatsPair& flats, double s_begin, double s_end,
                                       double from_mid_mm, double px_per_mm) {
  const double step = 0.5 / px_per_mm;
  const int columns = static_cast<int>((s_end - s_begin) / step) + 1;
  constexpr int kRows = 5;
  cv::Mat map(kRows, columns, CV_32FC2);
  for (int c = 0; c < columns; ++c) {
    const double s = s_begin + c * step;
    for (int r = 0; r < kRows; ++r) {
      const double t = flats.mid_mm(s) + from_mid_mm + kBandHalfMm * (2.0 * r / (kRows - 1) - 1.0);
      const Eigen::Vector2d q = frame.pixel(s, t);
      map.at<cv::Vec2f>(r, c) = cv::Vec2f(static_cast<float>(q.x() - image.origin_px.x),
                                          static_cast<float>(q.y() - image.origin_px.y));
    }
  }
  cv::Mat rows, mean;
  cv::remap(image.grey.linear, rows, map, {}, cv::INTER_LINEAR, cv::BORDER_REPLICATE);
  cv::reduce(rows, mean, 0, cv::REDUCE_AVG);
  std::vector<ProfileSample> samples;
  samples.reserve(static_cast<std::size_t>(columns));
  for (int c = 0; c < columns; ++c) {
    samples.push_back({0.5 * c, mean.at<float>(c), 1.0});
  }
  return samples;
}

/// The first change of level met when coming from the ricasso, of the two that explain the row best
/// in least squares (unground face, rounded shoulder, facet). Empty: the level hardly changes
/// there. Scratches across the edge are narrow; a change of level is not.
std::optional<double> first_change_px(const std::vector<ProfileSample>& samples, bool from_front) {
  constexpr std::size_t kShortest = 8;  // Samples of half a pixel: a shoulder may be this narrow.
  constexpr double kLeastShare = 0.10;  // Change of level, of the larger one.
  constexpr double kLeastSigmas = 1.5;  // And of the scatter within the levels.
  const std::size_t n = samples.size();
  if (n < 6 * kShortest) return std::nullopt;
  std::vector<double> sum(n + 1, 0.0), square_sum(n + 1, 0.0);
  const auto value = [&](std::size_t i) { return samples[from_front ? i : n - 1 - i].value; };
  for (std::size_t i = 0; i < n; ++i) {
    sum[i + 1] = sum[i] + value(i);
    square_sum[i + 1] = square_sum[i] + value(i) * value(i);
  }
  const auto mean = [&](std::size_t from, std::size_t to) {
    return (sum[to] - sum[from]) / static_cast<double>(to - from);
  };
  const auto misfit = [&](std::size_t from, std::size_t to) {
    const double m = mean(from, to);
    return square_sum[to] - square_sum[from] - m * m * static_cast<double>(to - from);
  };
  double least = std::numeric_limits<double>::infinity();
  std::size_t first = 0, second = 0;
  for (std::size_t i = 2 * kShortest; i + 2 * kShortest < n; ++i) {
    for (std::size_t k = i + kShortest; k + kShortest < n; ++k) {
      const double total = misfit(0, i) + misfit(i, k) + misfit(k, n);
      if (total < least) {
        least = total;
        first = i;
        second = k;
      }
    }
  }
  const double before = mean(0, first), after = mean(first, second);
  const double scatter = std::sqrt(std::max(least, 0.0) / static_cast<double>(n));
  const double change = std::abs(after - before);
  if (change < kLeastShare * std::max(before, after) || change < kLeastSigmas * scatter) {
    return std::nullopt;
  }
  const double index = static_cast<double>(first) - 0.5;
  return 0.5 * (from_front ? index : static_cast<double>(n - 1) - index);
}

/// A stretch along one row, on both sides of the land's end.
struct RowStretch {
  double s_begin_mm, s_end_mm, px_per_mm;
  int handle_sign;
  double outline_u_mm;
};

std::optional<Reading> read_row(const LaneImage& image, const StripFrame& frame,
                                const FlatsPair& flats, const RowStretch& stretch,
                                double from_mid_mm, double blur_px) {
  const std::vector<ProfileSample> samples = row_profile(
      image, frame, flats, stretch.s_begin_mm, stretch.s_end_mm, from_mid_mm, stretch.px_per_mm);
  const std::optional<double> start = first_change_px(samples, stretch.handle_sign < 0);
  if (!start) return std::nullopt;
  std::vector<ProfileSample> near;
  for (const ProfileSample& s : samples) {
    if (std::abs(s.t_px - *start) < 7.0) near.push_back(s);
  }
  // The outline crosses the row obliquely: the step is wider than the blur alone.
  const ProfileFit fit = fit_profile(near, {.positions_px = {*start},
                                            .parts = {{.shape = ProfilePart::Shape::step}},
                                            .blur_px = 1.5 * blur_px,
                                            .blur_is_free = true,
                                            .clip = image.clip});
  if (!fit.converged || std::abs(fit.model.positions_px[0] - *start) > 4.0) return std::nullopt;
  return Reading{stretch.s_begin_mm + fit.model.positions_px[0] / stretch.px_per_mm,
                 std::hypot(fit.u_px(0) / stretch.px_per_mm, stretch.outline_u_mm)};
}

/// Reads rows at less than, at, and at more than half depth. A plunge line's outline moves steadily
/// toward the tip from one to the next; a scratch across the edge stands still, and anything else
/// moves at random.
std::optional<Reading> find_one(const LaneImage& image, const StripFrame& frame,
                                const FlatsPair& flats, const RowStretch& stretch,
                                double rim_from_mid_mm, double land_from_mid_mm, double blur_px) {
  constexpr double kLeastMoveMm = 0.02, kMostMoveMm = 0.7;  // Between rows a tenth of depth apart.
  std::array<std::optional<Reading>, 3> rows;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const double depth = 0.4 + 0.1 * static_cast<double>(i);
    rows[i] = read_row(image, frame, flats, stretch,
                       rim_from_mid_mm + depth * (land_from_mid_mm - rim_from_mid_mm), blur_px);
    if (!rows[i]) return std::nullopt;
  }
  for (std::size_t i = 0; i + 1 < rows.size(); ++i) {
    const double move = -stretch.handle_sign * (rows[i + 1]->t_mm - rows[i]->t_mm);
    if (move < kLeastMoveMm || move > kMostMoveMm) return std::nullopt;
  }
  return rows[1];
}

}  // namespace

PlungeLines find_plunges(const LaneImage& image, const StripFrame& frame, const FlatsPair& flats,
                         const InnerTrace& inner, Stage stage, int handle_sign, double blur_px) {
  const double end = handle_sign > 0 ? inner.s_end_mm() : inner.s_begin_mm();
  // Beside the plunge the land has not yet its width: take it a little way off.
  const InnerTrace::Place land = inner.at(end - handle_sign * 8.0);
  const double mid = flats.mid_mm(land.s_mm), half_mm = 0.5 * flats.width_mm(land.s_mm);
  const RowStretch stretch{end - (handle_sign < 0 ? kBeforeMm : kBehindMm),
                           end + (handle_sign < 0 ? kBehindMm : kBeforeMm),
                           frame.px_per_mm_across(end, flats.mid_mm(end)), handle_sign,
                           stage == Stage::bevelled ? kBevelledOutlineMm : kGroundOutlineMm};
  return {find_one(image, frame, flats, stretch, half_mm, land.high_mm - mid, blur_px),
          find_one(image, frame, flats, stretch, -half_mm, land.low_mm - mid, blur_px)};
}

}  // namespace evenbevel::edge
