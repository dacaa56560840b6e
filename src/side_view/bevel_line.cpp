#include "bevel_line.hpp"

#include <algorithm>
#include <cmath>

#include "border/border_gain.hpp"
#include "border/path.hpp"
#include "border/places.hpp"
#include "evenbevel/fit.hpp"

namespace evenbevel::side {
namespace {

constexpr double kCodeFloor2 = 0.004 * 0.004;  // Noise of a cell's brightness.
constexpr double kGrainFloor2 = 0.25 * 0.25;
constexpr double kMostGain = 12.0;  // Of one place: no single speck decides.
constexpr double kStationMm = 1.0;
constexpr double kCellMm = 0.05;  // Steps across, for reading.
constexpr int kReachCells = 20;
constexpr double kSmoothMm = 9.0;
constexpr double kNearestMm = 2.0;  // Of the line to edge or spine, to be read.
constexpr double kBendOnce = 0.03;
constexpr double kNearSpineMm = 0.7;  // A border's own blur, and the rim beside it.

/// A column of cells, from row `top` to row `bottom`, about x: cell i at row top + i. The cells
/// slope by `slope` (dz/dx).
CellSums sums_at(const FaceImage& image, const Cues& cues, double x_mm, double half_mm, int top,
                 int bottom, double slope) {
  const int rows = std::max(0, bottom - top);
  const int first = std::max(0, static_cast<int>(std::lround(image.column(x_mm - half_mm))));
  const int last = std::min(cues.code.cols - 1, static_cast<int>(image.column(x_mm + half_mm)));
  CellSums sums(rows);
  for (int column = first; column <= last; ++column) {
    const double shift = -slope * (image.x(column) - x_mm) / image.step_mm;
    const int offset = top + static_cast<int>(std::lround(shift));
    if (offset < 0 || offset + rows > cues.code.rows) continue;
    ++sums.runs;
    for (int i = 0; i < rows; ++i) {
      const auto k = static_cast<std::size_t>(i);
      sums.code[k] += static_cast<double>(cues.code.at<float>(offset + i, column));
      sums.along[k] += static_cast<double>(cues.x2.at<float>(offset + i, column));
      sums.across[k] += static_cast<double>(cues.z2.at<float>(offset + i, column));
    }
  }
  return sums;
}

CellLine cells_at(const FaceImage& image, const Cues& cues, double x_mm, double half_mm, int top,
                  int bottom, double slope) {
  return sums_at(image, cues, x_mm, half_mm, top, bottom, slope)
      .mean(static_cast<double>(cues.noise2));
}

struct Windows {
  int code = 12, grain = 15;  ///< Cells a side.
  int gap = 1;                ///< Cells left out a side: the border's own blur.
};

/// What part of a gain counts: neighbouring cells share pixels, and scratches run on for many mm.
struct Shares {
  double code = 0.4, grain = 0.4;
};
constexpr Shares kFindShares{0.4, 0.4};
constexpr Shares kReadShares{0.2, 0.2};
constexpr double kLeastBlurPx = 0.5;  // A pixel's own.
constexpr float kOutside = -50.0F;

double gain_at(const Moments& code, const Moments& grain, int border) {
  constexpr Windows windows;
  const Step bright =
      step_on_slope(code.window(border - windows.code, border - windows.gap),
                    code.window(border + windows.gap, border + windows.code), kCodeFloor2);
  // A border has differences across it of its own, which look like the flat's: its grain ends a
  // cell later than the flat.
  const Step rough =
      step_on_slope(grain.window(border + 1 - windows.grain, border),
                    grain.window(border + 2, border + 1 + windows.grain), kGrainFloor2);
  const double worth = rough.size > 0.0 ? 1.0 : kOddGrain;
  return kFindShares.code * bright.gain + kFindShares.grain * worth * rough.gain;
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

/// Log likelihood of the border at kCellMm steps about a place, up to kReachCells either way.
std::vector<float> gains_about(const FaceImage& image, const Cues& cues, const Outline& outline,
                               const BevelReading& about, double slope) {
  const int cells = 2 * kReachCells + 1;
  std::vector<float> gains(static_cast<std::size_t>(cells), 0.0F);
  const Range range = range_at(image, outline, about.x_mm);
  const double reach_mm = kReachCells * kCellMm;
  constexpr int kWindow = 18;
  const int low = static_cast<int>(image.row(about.z_mm + reach_mm)) - 1;
  const int high = static_cast<int>(image.row(about.z_mm - reach_mm)) + 3;
  const int top = std::max({0, range.top - 4, low - kWindow});
  const int bottom = std::min({cues.code.rows, range.bottom + 4, high + kWindow});
  if (bottom - top < 8) return gains;
  const CellSums sums = sums_at(image, cues, about.x_mm, 0.5 * kStationMm, top, bottom, slope);
  const BorderCells border = sums.border(std::max(kLeastBlurPx, cues.blur_px));
  for (int k = 0; k < cells; ++k) {
    const double row = image.row(about.z_mm + (k - kReachCells) * kCellMm);
    const bool allowed = row >= range.top - 0.5 && row <= range.bottom - 0.5;
    const BorderGain own = border_gain(border, row - top);
    const double gain = kReadShares.code * own.code + kReadShares.grain * own.grain;
    gains[static_cast<std::size_t>(k)] = allowed ? static_cast<float>(gain) : kOutside;
  }
  const float most = *std::max_element(gains.begin(), gains.end());
  if (most > static_cast<float>(kMostGain)) {
    for (float& gain : gains) gain *= static_cast<float>(kMostGain) / most;
  }
  for (float& gain : gains) gain = std::max(kOutside, gain);
  return gains;
}

/// Gains under the best path that keeps a mm and more from this one. On pooled rows: quick.
std::vector<double> rival_gains(const cv::Mat& gain, const std::vector<int>& path, double step_mm) {
  constexpr int kPool = 3;
  constexpr double kApartMm = 1.0;
  const int apart = static_cast<int>(kApartMm / step_mm);
  cv::Mat pooled(gain.rows / kPool, gain.cols, CV_32FC1, cv::Scalar(kForbidden));
  for (int column = 0; column < gain.cols; ++column) {
    const int own = path[static_cast<std::size_t>(column)];
    for (int row = 0; row < pooled.rows * kPool; ++row) {
      float value = gain.at<float>(row, column);
      if (value > 0.0F && std::abs(row - own) < apart) value = 0.0F;
      float& pool = pooled.at<float>(row / kPool, column);
      pool = std::max(pool, value);
    }
  }
  const std::vector<int> other =
      best_path(pooled, {.steepest = 4, .sharpest = 1, .bend_cost = 4.0});
  std::vector<double> gains;
  for (int column = 0; column < gain.cols; ++column) {
    const float value = pooled.at<float>(other[static_cast<std::size_t>(column)], column);
    gains.push_back(std::max(0.0, static_cast<double>(value)));
  }
  return gains;
}

/// Not chance: well over the noise, far likelier than the best line elsewhere, seen for the most
/// part.
bool trusted(const std::vector<BevelReading>& readings, double rival) {
  // Over photos with known truth: right lines have a rival of up to 0.62 and a mean gain from 2.4;
  // wrong ones a rival from 0.68 or a mean gain below 1.6.
  constexpr double kMostRival = 0.65, kLeastGain = 2.0, kLeastSeen = 0.5;
  double gain = 0.0, seen = 0.0;
  for (const BevelReading& reading : readings) {
    gain += reading.gain;
    seen += reading.seen ? 1.0 : 0.0;
  }
  const auto n = static_cast<double>(readings.size());
  return rival <= kMostRival && gain >= kLeastGain * n && seen >= kLeastSeen * n;
}

}  // namespace

double BevelPath::rival(double from_mm) const {
  double own = 0.0, other = 0.0;
  for (std::size_t i = 0; i < x_mm.size(); ++i) {
    if (x_mm[i] >= from_mm) own += gain[i], other += rival_gain[i];
  }
  return own > 0.0 ? other / own : 1.0;
}

double BevelPath::gain_at(double x) const {
  if (x_mm.empty()) return 0.0;
  const double place = std::clamp((x - x_mm.front()) / kStationMm + 0.5, 0.0,
                                  static_cast<double>(x_mm.size()) - 0.5);
  return gain[static_cast<std::size_t>(place)];
}

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
      if (2 * i > stations) break;  // the tip
      gain.col(used).setTo(0.0);    // the outline has a gap here
      path.x_mm.push_back(x);
      ++used;
      continue;
    }
    const double slope = outline.edge.slope(x, 4.0);
    const int top = std::max(0, range.top - 4), bottom = std::min(cues.code.rows, range.bottom + 4);
    const CellLine line = cells_at(image, cues, x, 0.5 * kStationMm, top, bottom,
                                   std::isnan(slope) ? 0.0 : 0.5 * slope);
    const Moments code(line.code), grain(line.grain);
    for (int row = range.top; row < range.bottom; ++row) {
      const double own = gain_at(code, grain, row - top);
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
  path.rival_gain = rival_gains(gain.colRange(0, used), rows, image.step_mm);
  return path;
}

std::vector<BevelReading> read_bevel_line(const FaceImage& image, const Cues& cues,
                                          const Outline& outline, const BevelPath& path,
                                          double from_mm, double to_mm) {
  std::vector<BevelReading> readings;
  for (double x = from_mm; x <= to_mm; x += kStationMm) {
    const double z = path.at(x);
    if (std::isnan(outline.spine.at(x)) || outline.spine.at(x) - z < kNearestMm) continue;
    if (std::isnan(outline.edge.at(x)) || z - outline.edge.at(x) < kNearestMm) continue;
    readings.push_back({.x_mm = x, .z_mm = z});
  }
  if (readings.size() < 6) return {};
  std::vector<double> xs, zs, weights;
  for (const BevelReading& reading : readings) {
    xs.push_back(reading.x_mm), zs.push_back(reading.z_mm);
    weights.push_back(0.2 + std::max(0.0, path.gain_at(reading.x_mm)));
  }
  zs = smoothed(xs, zs, weights, kSmoothMm);
  const int cells = 2 * kReachCells + 1;
  cv::Mat gain(cells, static_cast<int>(readings.size()), CV_32FC1, cv::Scalar(0));
  for (std::size_t i = 0; i < readings.size(); ++i) {
    readings[i].z_mm = zs[i];
    const std::size_t before = i == 0 ? 0 : i - 1, after = std::min(i + 1, zs.size() - 1);
    const double slope = (zs[after] - zs[before]) / (xs[after] - xs[before]);
    const std::vector<float> own = gains_about(image, cues, outline, readings[i], slope);
    for (int k = 0; k < cells; ++k)
      gain.at<float>(k, static_cast<int>(i)) = own[static_cast<std::size_t>(k)];
  }
  const std::vector<Place> places =
      places_along(gain, {.steepest = 5, .up = kBendOnce, .down = kBendOnce});
  for (std::size_t i = 0; i < readings.size(); ++i) {
    BevelReading& reading = readings[i];
    reading.z_mm += (places[i].cell - kReachCells) * kCellMm;
    reading.u_mm = std::hypot(places[i].spread * kCellMm, kCellMm / std::sqrt(12.0));
    const int cell = std::clamp(static_cast<int>(std::lround(places[i].cell)), 0, cells - 1);
    reading.gain = static_cast<double>(gain.at<float>(cell, static_cast<int>(i)));
  }
  constexpr double kMostUMm = 0.08;
  constexpr std::size_t kBeside = 3;
  mark_seen(readings, kMostUMm, kBeside);
  if (!trusted(readings, path.rival(from_mm))) return {};
  return readings;
}

void leave_out_plunge_arc(std::vector<BevelReading>& readings) {
  constexpr double kArcMm = 8.0, kBeyondMm = 12.0, kBelowMm = 0.12;
  constexpr std::size_t kLeast = 8;
  if (readings.empty()) return;
  const double begin = readings.front().x_mm + kArcMm;
  std::vector<Eigen::Vector2d> beyond;
  for (const BevelReading& reading : readings) {
    const bool within = reading.x_mm >= begin && reading.x_mm <= begin + kBeyondMm;
    if (within && reading.seen) beyond.emplace_back(reading.x_mm, reading.z_mm);
  }
  if (beyond.size() < kLeast) return;
  const LineFit line = fit_line_robust(beyond);
  for (BevelReading& reading : readings) {
    const double led_to =
        line.centre.y() + (reading.x_mm - line.centre.x()) * std::tan(line.direction_rad);
    if (reading.x_mm > begin || reading.z_mm > led_to - kBelowMm) return;
    reading.seen = false;
  }
}

}  // namespace evenbevel::side
