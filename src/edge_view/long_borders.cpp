#include "long_borders.hpp"

#include <algorithm>
#include <cmath>

#include <opencv2/imgproc.hpp>

namespace evenbevel::edge {
namespace {

constexpr double kBlockMm = 1.0;
constexpr double kScalePx = 0.5;            // A flat's own face beside its rim may be 2 px wide.
constexpr double kLeastSignificance = 6.0;  // Of some thousand places looked at: none by chance.
constexpr double kLeastSlope = 0.15;        // Grey levels per px; compression makes such steps.
constexpr double kApartPx = 1.6;            // Nearer borders are one, blurred.
constexpr double kTurnStep = 0.0004;

/// Gradient down the columns, grey levels per px.
cv::Mat gradient(const cv::Mat& grey, double rows_per_px) {
  cv::Mat out;
  cv::filter2D(grey, out, CV_32F, rows_per_px * slope_kernel(kScalePx * rows_per_px), {-1, -1}, 0,
               cv::BORDER_REPLICATE);
  return out;
}

/// Gradient across, averaged over blocks along the blade: row = t, column = block.
cv::Mat block_gradients(const CoarseStrip& strip, double px_per_mm, const BorderSearch& search,
                        double& first_block_mm) {
  const int first =
      std::clamp(static_cast<int>(std::ceil((search.s_begin_mm - strip.s0_mm) / strip.ds_mm)), 0,
                 strip.grey.cols - 1);
  const int last = std::clamp(static_cast<int>((search.s_end_mm - strip.s0_mm) / strip.ds_mm),
                              first, strip.grey.cols - 1);
  const int each = std::max(1, static_cast<int>(std::lround(kBlockMm / strip.ds_mm)));
  const int blocks = (last - first + 1) / each;
  first_block_mm = strip.s_mm(first + 0.5 * (each - 1));
  if (blocks < 2) return {};
  cv::Mat means;
  const cv::Mat part = strip.grey.colRange(first, first + blocks * each);
  cv::resize(part, means, {blocks, part.rows}, 0, 0, cv::INTER_AREA);
  return gradient(means, 1.0 / (strip.dt_mm * px_per_mm));
}

struct Ranked {
  double t_mm, slope, gradient, significance;  // t: at the middle of the stretch.
};

/// Mean and significance along lines of one slope, a row each.
struct Collapsed {
  std::vector<float> gradient, significance;
};

Collapsed collapse(const cv::Mat& gradients, const CoarseStrip& strip, const BorderSearch& search,
                   double first_block_mm, double slope, int rows) {
  const double middle_mm = 0.5 * (search.s_begin_mm + search.s_end_mm);
  const int blocks = gradients.cols;
  std::vector<double> sum(static_cast<std::size_t>(rows), 0.0), square(sum), count(sum);
  for (int b = 0; b < blocks; ++b) {
    const double s = first_block_mm + b * kBlockMm;
    const double t0 =
        search.about.t_mm(s) + search.t_low_mm + (slope - search.about.slope) * (s - middle_mm);
    const double row0 = (t0 - strip.t0_mm) / strip.dt_mm;
    const int whole = static_cast<int>(std::floor(row0));
    const auto part = static_cast<float>(row0 - whole);
    for (int r = 0; r < rows; ++r) {
      const int at = whole + r;
      if (at < 0 || at + 1 >= gradients.rows) continue;
      const double g =
          (1.0F - part) * gradients.at<float>(at, b) + part * gradients.at<float>(at + 1, b);
      const auto i = static_cast<std::size_t>(r);
      sum[i] += g;
      square[i] += g * g;
      count[i] += 1.0;
    }
  }
  Collapsed out;
  for (std::size_t i = 0; i < sum.size(); ++i) {
    const double n = std::max(count[i], 1.0), mean = sum[i] / n;
    const double variance = std::max(square[i] / n - mean * mean, 0.0);
    constexpr double kQuantisation = 0.05;  // Grey levels per px, of a block of eight-bit pixels.
    const double u =
        std::hypot(std::sqrt(variance), kQuantisation) / std::sqrt(std::max(n - 1.0, 1.0));
    out.gradient.push_back(static_cast<float>(mean));
    out.significance.push_back(count[i] >= 0.5 * blocks ? static_cast<float>(mean / u) : 0.0F);
  }
  return out;
}

}  // namespace

CoarseStrip fine_strip(const LaneImage& image, Light LaneImage::*light, const StripFrame& frame,
                       const StripRange& range, double px_per_mm) {
  constexpr double kAlongPx = 2.0, kAcrossPx = 0.25;
  return coarse_strip(image, light, frame, range, kAlongPx / px_per_mm, kAcrossPx / px_per_mm);
}

std::vector<LongBorder> long_borders(const CoarseStrip& strip, double px_per_mm,
                                     const BorderSearch& search) {
  double first_block_mm = 0.0;
  const cv::Mat gradients = block_gradients(strip, px_per_mm, search, first_block_mm);
  if (gradients.cols < 4) return {};
  const int rows = static_cast<int>((search.t_high_mm - search.t_low_mm) / strip.dt_mm) + 1;
  const double middle_mm = 0.5 * (search.s_begin_mm + search.s_end_mm);
  const double about_mm = search.about.t_mm(middle_mm) + search.t_low_mm;
  std::vector<Ranked> ranked;
  const int turns = static_cast<int>(search.turn / kTurnStep);
  for (int turn = -turns; turn <= turns; ++turn) {
    const double slope = search.about.slope + turn * kTurnStep;
    const Collapsed along = collapse(gradients, strip, search, first_block_mm, slope, rows);
    for (const double sign : {1.0, -1.0}) {
      std::vector<float> heights(along.gradient);
      for (float& h : heights) h *= static_cast<float>(sign);
      for (const Peak& peak : local_maxima(heights, static_cast<float>(kLeastSlope))) {
        const auto at = static_cast<std::size_t>(std::lround(peak.index));
        const double significance = static_cast<double>(along.significance[at]);
        if (std::abs(significance) < kLeastSignificance) continue;
        ranked.push_back(
            {about_mm + peak.index * strip.dt_mm, slope, sign * peak.value, significance});
      }
    }
  }
  std::sort(ranked.begin(), ranked.end(), [](const Ranked& a, const Ranked& b) {
    return std::abs(a.gradient) > std::abs(b.gradient);
  });
  std::vector<LongBorder> borders;
  for (const Ranked& r : ranked) {
    const bool known = std::any_of(borders.begin(), borders.end(), [&](const LongBorder& other) {
      return std::abs(other.line.t_mm(middle_mm) - r.t_mm) < kApartPx / px_per_mm;
    });
    if (known) continue;
    borders.push_back({{r.t_mm - r.slope * middle_mm, r.slope}, r.gradient, r.significance});
  }
  std::sort(borders.begin(), borders.end(), [&](const LongBorder& a, const LongBorder& b) {
    return a.line.t_mm(middle_mm) < b.line.t_mm(middle_mm);
  });
  return borders;
}

}  // namespace evenbevel::edge
