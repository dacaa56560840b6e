#include "plunge.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "evenbevel/fit.hpp"
#include "path.hpp"

namespace evenbevel::side {
namespace {

constexpr double kRowMm = 0.5;
constexpr double kCodeFloor2 = 0.006 * 0.006;
constexpr double kGrainFloor2 = 0.3 * 0.3;
constexpr double kShare = 0.4;
constexpr double kMostGain = 15.0;
constexpr double kOddGrain = 0.3;
constexpr double kNearEdgeMm = 0.6;

/// A row of cells along x, one a pixel column, about z; the cells slope by `slope` (dx/dz).
CellLine cells_at(const FaceImage& image, const Cues& cues, double z_mm, double half_mm, int left,
                  int right, double slope) {
  const int columns = std::max(0, right - left);
  const int first = std::max(0, static_cast<int>(std::ceil(image.row(z_mm + half_mm) - 0.5)));
  const int last =
      std::min(cues.code.rows - 1, static_cast<int>(std::floor(image.row(z_mm - half_mm))));
  CellLine line;
  line.code.assign(static_cast<std::size_t>(columns), 0.0);
  std::vector<double> along(line.code), across(line.code);
  int count = 0;
  for (int row = first; row <= last; ++row) {
    const int offset =
        left + static_cast<int>(std::lround(slope * (image.z(row) - z_mm) / image.step_mm));
    if (offset < 0 || offset + columns > cues.code.cols) continue;
    ++count;
    const float* code = cues.code.ptr<float>(row) + offset;
    const float* x2 = cues.x2.ptr<float>(row) + offset;
    const float* z2 = cues.z2.ptr<float>(row) + offset;
    for (int i = 0; i < columns; ++i) {
      const auto k = static_cast<std::size_t>(i);
      line.code[k] += static_cast<double>(code[i]);
      along[k] += static_cast<double>(x2[i]);
      across[k] += static_cast<double>(z2[i]);
    }
  }
  const double noise = static_cast<double>(cues.noise2) * std::max(1, count);
  line.grain.resize(line.code.size());
  for (std::size_t k = 0; k < line.code.size(); ++k) {
    line.code[k] /= std::max(1, count);
    line.grain[k] = std::log((along[k] + noise) / (across[k] + noise));
  }
  return line;
}

int cells(const FaceImage& image, double mm) {
  return std::max(1, static_cast<int>(std::lround(mm / image.step_mm)));
}

struct Widths {
  int far, left, right_code, right_grain, gap;
};
Widths widths_of(const FaceImage& image) {
  return {cells(image, 8.0), cells(image, 2.0), cells(image, 0.8), cells(image, 1.6), 1};
}

/// A border whose handle side still looks like what lies farther to the handle: the first one met
/// from there.
double first_border_gain(const Moments& code, const Moments& grain, int border, const Widths& w) {
  const Step bright =
      step_of_levels(code.window(border - w.left, border - w.gap),
                     code.window(border + w.gap, border + w.right_code), kCodeFloor2);
  const Step rough =
      step_of_levels(grain.window(border - w.left, border - w.gap),
                     grain.window(border + w.gap, border + w.right_grain), kGrainFloor2);
  const Step bright_before =
      step_of_levels(code.window(border - w.far, border - w.left),
                     code.window(border - w.left, border - w.gap), 4.0 * kCodeFloor2);
  const Step rough_before =
      step_of_levels(grain.window(border - w.far, border - w.left),
                     grain.window(border - w.left, border - w.gap), 4.0 * kGrainFloor2);
  const double worth = rough.size > 0.0 ? 1.0 : kOddGrain;
  const double before =
      bright_before.gain + std::max(0.0, rough_before.size > 0 ? rough_before.gain : 0.0);
  return kShare * (bright.gain + worth * rough.gain - before);
}

double place_gain(const Moments& code, const Moments& grain, int border, const Widths& w) {
  const Step bright = step_of_levels(code.window(border - w.left, border),
                                     code.window(border, border + w.right_code / 2), kCodeFloor2);
  const Step rough = step_of_levels(grain.window(border - w.left, border),
                                    grain.window(border, border + w.right_grain), kGrainFloor2);
  return kShare * (bright.gain + (rough.size > 0.0 ? 0.5 : 0.0) * rough.gain);
}

}  // namespace

std::vector<PlungeReading> find_plunge(const FaceImage& image, const Cues& cues,
                                       const Outline& outline, const BevelPath& bevel,
                                       double length_mm) {
  constexpr double kFirstMm = 1.5, kLastShare = 0.6;
  constexpr int kReach = 6;
  const int left = cells(image, kFirstMm) + static_cast<int>(image.column(0.0));
  const int right = static_cast<int>(image.column(kLastShare * length_mm));
  std::vector<double> inner;
  for (std::size_t i = 0; i < bevel.x_mm.size(); ++i) {
    if (bevel.x_mm[i] < kLastShare * length_mm) inner.push_back(bevel.z_mm[i]);
  }
  if (inner.empty() || right - left < 20) return {};
  const double top_mm = median(inner);
  const int rows = static_cast<int>((top_mm - kNearEdgeMm - 0.3) / kRowMm);
  if (rows < 4) return {};
  const Widths widths = widths_of(image);
  cv::Mat gain(right - left, rows, CV_32FC1, cv::Scalar(kForbidden));
  for (int j = 0; j < rows; ++j) {
    const double z = kNearEdgeMm + (j + 0.5) * kRowMm;
    const CellLine line = cells_at(image, cues, z, 0.5 * kRowMm, left, right, 0.0);
    const Moments code(line.code), grain(line.grain);
    for (int i = 0; i < right - left; ++i) {
      const double x = image.x(left + i);
      if (z < outline.edge.at(x) + kNearEdgeMm || z > bevel.at(x) - 0.2) {
        gain.at<float>(i, j) = 0.0F;
        continue;
      }
      const double own = first_border_gain(code, grain, i, widths);
      gain.at<float>(i, j) = static_cast<float>(std::clamp(own, -kMostGain, kMostGain));
    }
  }
  const std::vector<int> path = best_path(gain, {.steepest = 8, .sharpest = 2, .bend_cost = 0.7});
  std::vector<PlungeReading> readings;
  for (int j = 0; j < rows; ++j) {
    const auto own = static_cast<std::size_t>(j);
    const int before = path[static_cast<std::size_t>(std::max(0, j - 2))];
    const int after = path[static_cast<std::size_t>(std::min(rows - 1, j + 2))];
    const double slope = (after - before) * image.step_mm /
                         (kRowMm * (std::min(rows - 1, j + 2) - std::max(0, j - 2)));
    const double z = kNearEdgeMm + (j + 0.5) * kRowMm;
    const int begin = std::max(0, left + path[own] - widths.left - kReach);
    const int end = std::min(cues.code.cols, left + path[own] + widths.right_grain + kReach);
    const CellLine line = cells_at(image, cues, z, 0.5 * kRowMm, begin, end, slope);
    const Moments code(line.code), grain(line.grain);
    std::vector<double> gains;
    for (int d = -kReach; d <= kReach; ++d) {
      gains.push_back(place_gain(code, grain, left + path[own] + d - begin, widths));
    }
    const double best = *std::max_element(gains.begin(), gains.end());
    double sum = 0.0, mean = 0.0, squares = 0.0;
    for (std::size_t i = 0; i < gains.size(); ++i) {
      const double d = static_cast<double>(i) - kReach, weight = std::exp(gains[i] - best);
      sum += weight, mean += weight * d, squares += weight * d * d;
    }
    mean /= sum;
    const double spread = std::sqrt(std::max(0.0, squares / sum - mean * mean));
    PlungeReading reading;
    reading.z_mm = z;
    reading.x_mm = image.x(left + path[own] + mean - 0.5);
    reading.u_mm = std::hypot(spread * image.step_mm, image.step_mm / std::sqrt(12.0));
    reading.gain = static_cast<double>(gain.at<float>(path[own], j));
    reading.seen = best > 3.0 && reading.u_mm < 0.25;
    readings.push_back(reading);
  }
  return readings;
}

}  // namespace evenbevel::side
