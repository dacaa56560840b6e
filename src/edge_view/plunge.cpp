#include "plunge.hpp"

#include <algorithm>
#include <cmath>

#include <opencv2/imgproc.hpp>

namespace evenbevel::edge {
namespace {

constexpr double kBeforeMm = 8.0;        // How far to look on the ricasso's side of the land's end,
constexpr double kBehindMm = 4.0;        // and on the blade's side.
constexpr double kBandHalfMm = 0.06;     // Rows averaged about the half depth.
constexpr double kOutlineBiasMm = 0.04;  // A curved, inclined outline read along one row.

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
  cv::remap(image.linear, rows, map, {}, cv::INTER_LINEAR, cv::BORDER_REPLICATE);
  cv::reduce(rows, mean, 0, cv::REDUCE_AVG);
  std::vector<ProfileSample> samples;
  for (int c = 0; c < columns; ++c) {
    samples.push_back({0.5 * c, mean.at<float>(c), 1.0});
  }
  return samples;
}

/// The strongest step of a profile, in px from its start; smoothed over a few px first.
std::optional<double> strongest_step(const std::vector<ProfileSample>& samples) {
  constexpr std::size_t kReach = 5;
  double best = 0.0;
  std::optional<double> where;
  for (std::size_t i = kReach; i + kReach < samples.size(); ++i) {
    double left = 0.0, right = 0.0;
    for (std::size_t d = 1; d <= kReach; ++d) {
      left += samples[i - d].value;
      right += samples[i + d].value;
    }
    if (std::abs(right - left) > best) {
      best = std::abs(right - left);
      where = samples[i].t_px;
    }
  }
  constexpr double kLeastStep = 0.01;  // Linear light, a pixel.
  return best / kReach > kLeastStep ? where : std::nullopt;
}

std::optional<Reading> find_one(const LaneImage& image, const StripFrame& frame,
                                const FlatsPair& flats, double land_end_mm, double from_mid_mm,
                                int handle_sign, double blur_px) {
  const double s_begin = land_end_mm - (handle_sign < 0 ? kBeforeMm : kBehindMm);
  const double s_end = land_end_mm + (handle_sign < 0 ? kBehindMm : kBeforeMm);
  const double px_per_mm = frame.px_per_mm_across(land_end_mm, flats.mid_mm(land_end_mm));
  const std::vector<ProfileSample> samples =
      row_profile(image, frame, flats, s_begin, s_end, from_mid_mm, px_per_mm);
  const std::optional<double> start = strongest_step(samples);
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
  return Reading{s_begin + fit.model.positions_px[0] / px_per_mm,
                 std::hypot(fit.u_px(0) / px_per_mm, kOutlineBiasMm)};
}

}  // namespace

PlungeLines find_plunges(const LaneImage& image, const StripFrame& frame, const FlatsPair& flats,
                         const InnerTrace& inner, int handle_sign, double blur_px) {
  const double end = handle_sign > 0 ? inner.s_end_mm() : inner.s_begin_mm();
  // Beside the plunge the land has not yet its width: take it a little way off.
  const InnerTrace::Place land = inner.at(end - handle_sign * 8.0);
  const double mid = flats.mid_mm(land.s_mm), half_mm = 0.5 * flats.width_mm(land.s_mm);
  PlungeLines plunges;
  plunges.high = find_one(image, frame, flats, end, 0.5 * (half_mm + land.high_mm - mid),
                          handle_sign, blur_px);
  plunges.low = find_one(image, frame, flats, end, 0.5 * (-half_mm + land.low_mm - mid),
                         handle_sign, blur_px);
  return plunges;
}

}  // namespace evenbevel::edge
