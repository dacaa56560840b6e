#include "bevel_line.hpp"

#include <algorithm>
#include <cmath>

#include "evenbevel/fit.hpp"
#include "path.hpp"

namespace evenbevel::side {
namespace {

constexpr double kCodeFloor2 = 0.004 * 0.004;  // Noise of a cell's brightness.
constexpr double kGrainFloor2 = 0.25 * 0.25;
constexpr double kShare = 0.4;      // Neighbouring cells share pixels and scratches.
constexpr double kMostGain = 12.0;  // Of one place: no single speck decides.
constexpr double kOddGrain = 0.3;   // Worth of a step the wrong way round.
constexpr double kStationMm = 1.0;
constexpr double kNearSpineMm = 0.7;  // A border's own blur, and the rim beside it.

/// A column of cells, from row `top` to row `bottom`, about x: cell i at row top + i. The cells
/// slope by `slope` (dz/dx).
CellLine cells_at(const FaceImage& image, const Cues& cues, double x_mm, double half_mm, int top,
                  int bottom, double slope) {
  const int rows = std::max(0, bottom - top);
  const int first = std::max(0, static_cast<int>(image.column(x_mm - half_mm) + 0.5));
  const int last = std::min(cues.code.cols - 1, static_cast<int>(image.column(x_mm + half_mm)));
  CellLine line;
  line.code.assign(static_cast<std::size_t>(rows), 0.0);
  std::vector<double> along(line.code), across(line.code);
  int count = 0;
  for (int column = first; column <= last; ++column) {
    const double shift = -slope * (image.x(column) - x_mm) / image.step_mm;
    const int offset = top + static_cast<int>(std::lround(shift));
    if (offset < 0 || offset + rows > cues.code.rows) continue;
    ++count;
    for (int i = 0; i < rows; ++i) {
      const auto k = static_cast<std::size_t>(i);
      line.code[k] += static_cast<double>(cues.code.at<float>(offset + i, column));
      along[k] += static_cast<double>(cues.x2.at<float>(offset + i, column));
      across[k] += static_cast<double>(cues.z2.at<float>(offset + i, column));
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

struct Windows {
  int code = 12, grain = 15;  ///< Cells a side.
  int gap = 1;                ///< Cells left out a side: the border's own blur.
};

double gain_at(const Moments& code, const Moments& grain, int border, const Windows& windows) {
  const Step bright =
      step_on_slope(code.window(border - windows.code, border - windows.gap),
                    code.window(border + windows.gap, border + windows.code), kCodeFloor2);
  const Step rough =
      step_on_slope(grain.window(border - windows.grain, border - 2 * windows.gap),
                    grain.window(border + 2 * windows.gap, border + windows.grain), kGrainFloor2);
  const double worth = rough.size > 0.0 ? 1.0 : kOddGrain;
  return kShare * (bright.gain + worth * rough.gain);
}

struct Range {
  int top = 0, bottom = 0;  ///< Rows where the border may lie.
};

Range range_at(const FaceImage& image, const Outline& outline, double x_mm) {
  const double spine = outline.spine.at(x_mm), edge = outline.edge.at(x_mm);
  if (std::isnan(spine) || std::isnan(edge)) return {};
  const double above_edge = std::max(0.8, 0.08 * (spine - edge));
  return {static_cast<int>(std::ceil(image.row(spine - kNearSpineMm))),
          static_cast<int>(image.row(edge + above_edge))};
}

}  // namespace

double BevelPath::at(double x) const {
  if (x_mm.empty()) return 0.0;
  const double place =
      std::clamp((x - x_mm.front()) / kStationMm, 0.0, static_cast<double>(x_mm.size() - 1));
  const auto i = std::min(static_cast<std::size_t>(place), x_mm.size() - 1);
  const std::size_t j = std::min(i + 1, x_mm.size() - 1);
  const double share = place - static_cast<double>(i);
  return (1.0 - share) * z_mm[i] + share * z_mm[j];
}

BevelPath find_bevel_path(const FaceImage& image, const Cues& cues, const Outline& outline,
                          double length_mm) {
  const int stations = std::max(1, static_cast<int>(length_mm / kStationMm));
  cv::Mat gain(cues.code.rows, stations, CV_32FC1, cv::Scalar(kForbidden));
  BevelPath path;
  int used = 0;
  for (int i = 0; i < stations; ++i) {
    const double x = (i + 0.5) * kStationMm;
    const Range range = range_at(image, outline, x);
    if (range.bottom - range.top < 6) {
      if (used == 0) continue;
      break;
    }
    const double slope = outline.edge.slope(x, 4.0);
    const int top = std::max(0, range.top - 4), bottom = std::min(cues.code.rows, range.bottom + 4);
    const CellLine line = cells_at(image, cues, x, 0.5 * kStationMm, top, bottom,
                                   std::isnan(slope) ? 0.0 : 0.5 * slope);
    const Moments code(line.code), grain(line.grain);
    for (int row = range.top; row < range.bottom; ++row) {
      const double own = gain_at(code, grain, row - top, {});
      gain.at<float>(row, used) = static_cast<float>(std::min(own, kMostGain));
    }
    path.x_mm.push_back(x);
    ++used;
  }
  const std::vector<int> rows =
      best_path(gain.colRange(0, used), {.steepest = 10, .sharpest = 2, .bend_cost = 2.0});
  for (std::size_t i = 0; i < rows.size(); ++i) {
    path.z_mm.push_back(image.z(rows[i] - 0.5));  // a border lies between two rows
    path.gain.push_back(static_cast<double>(gain.at<float>(rows[i], static_cast<int>(i))));
  }
  return path;
}

std::vector<BevelReading> read_bevel_line(const FaceImage& image, const Cues& cues,
                                          const Outline& outline, const BevelPath& path,
                                          double from_mm, double to_mm) {
  constexpr int kReach = 8;  // Cells beside the path where the border may lie.
  constexpr double kLeastGain = 3.0, kMostU = 0.25;
  const double half_cell = image.step_mm / std::sqrt(12.0);
  std::vector<BevelReading> readings;
  for (double x = from_mm; x <= to_mm; x += kStationMm) {
    const Range range = range_at(image, outline, x);
    BevelReading reading{.x_mm = x, .z_mm = path.at(x)};
    const double slope = (path.at(x + 2.0) - path.at(x - 2.0)) / 4.0;
    const int middle = static_cast<int>(std::lround(image.row(reading.z_mm) + 0.5));
    const int low = std::max(range.top, middle - kReach),
              high = std::min(range.bottom, middle + kReach);
    const int top = std::max({0, range.top - 4, middle - kReach - 16});
    const int bottom = std::min({cues.code.rows, range.bottom + 4, middle + kReach + 16});
    if (high - low >= 3 && bottom - top > 8) {
      const CellLine line = cells_at(image, cues, x, kStationMm, top, bottom, slope);
      const Moments code(line.code), grain(line.grain);
      std::vector<double> gains;
      for (int row = low; row <= high; ++row) gains.push_back(gain_at(code, grain, row - top, {}));
      const double best = *std::max_element(gains.begin(), gains.end());
      double sum = 0.0, sum_row = 0.0, sum_squares = 0.0;
      for (std::size_t i = 0; i < gains.size(); ++i) {
        const double row = low + static_cast<double>(i) - 0.5;
        const double weight = std::exp(gains[i] - best);
        sum += weight, sum_row += weight * row, sum_squares += weight * row * row;
      }
      const double row = sum_row / sum;
      const double spread = std::sqrt(std::max(0.0, sum_squares / sum - row * row));
      reading.z_mm = image.z(row);
      reading.u_mm = std::hypot(spread * image.step_mm, half_cell);
      reading.gain = best;
      reading.seen = best > kLeastGain && reading.u_mm < kMostU;
    }
    readings.push_back(reading);
  }
  return readings;
}

}  // namespace evenbevel::side
