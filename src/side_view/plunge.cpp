#include "plunge.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "border/path.hpp"
#include "border/places.hpp"
#include "evenbevel/fit.hpp"

namespace evenbevel::side {
namespace {

constexpr double kFindRowMm = 1.0, kReadRowMm = 1.0;
constexpr double kPlaceStepMm = 0.05;  // Steps across, for reading.
constexpr int kBackCells = 20, kAheadCells = 90;
// A plunge line is straight, then turns to the tip where it meets the bevel line; hardly ever back.
constexpr double kTurnOnce = 0.1, kTurnBack = 1e-5;
constexpr double kReadCode = 0.4, kReadGrain = 0.6;
constexpr double kLeastMeanGain = 1.5;
constexpr double kRowCodeFloor2 = 0.006 * 0.006;
constexpr double kRowGrainFloor2 = 0.3 * 0.3;
constexpr double kShare = 0.4;
constexpr double kMostRowGain = 15.0;
constexpr double kNearEdgeMm = 0.6;

/// A row of cells along x, one a pixel column, about z; the cells slope by `slope` (dx/dz).
CellLine row_cells_at(const FaceImage& image, const Cues& cues, double z_mm, double half_mm,
                      int left, int right, double slope) {
  const int columns = std::max(0, right - left);
  const int first = std::max(0, static_cast<int>(std::ceil(image.row(z_mm + half_mm) - 0.5)));
  const int last =
      std::min(cues.code.rows - 1, static_cast<int>(std::floor(image.row(z_mm - half_mm))));
  CellSums sums(columns);
  for (int row = first; row <= last; ++row) {
    const int offset =
        left + static_cast<int>(std::lround(slope * (image.z(row) - z_mm) / image.step_mm));
    if (offset < 0 || offset + columns > cues.code.cols) continue;
    ++sums.runs;
    const float* code = cues.code.ptr<float>(row) + offset;
    const float* x2 = cues.x2.ptr<float>(row) + offset;
    const float* z2 = cues.z2.ptr<float>(row) + offset;
    for (int i = 0; i < columns; ++i) {
      const auto k = static_cast<std::size_t>(i);
      sums.code[k] += static_cast<double>(code[i]);
      sums.along[k] += static_cast<double>(x2[i]);
      sums.across[k] += static_cast<double>(z2[i]);
    }
  }
  return sums.mean(static_cast<double>(cues.noise2));
}

int cells(const FaceImage& image, double mm) {
  return std::max(1, static_cast<int>(std::lround(mm / image.step_mm)));
}

struct Widths {
  int far, left, sliver, right_code, right_grain, gap, grain_gap;
};
Widths widths_of(const FaceImage& image) {
  return {cells(image, 8.0),
          cells(image, 2.0),
          cells(image, 0.3),
          cells(image, 0.8),
          cells(image, 1.6),
          1,
          2};
}

/// A border whose handle side still looks like what lies farther to the handle: the first one met
/// from there.
double first_border_gain(const Moments& code, const Moments& grain, int border, const Widths& w) {
  const Step bright =
      step_of_levels(code.window(border - w.left, border - w.gap),
                     code.window(border + w.gap, border + w.right_code), kRowCodeFloor2);
  const Step rough =
      step_of_levels(grain.window(border - w.left, border - w.gap),
                     grain.window(border + w.gap, border + w.right_grain), kRowGrainFloor2);
  const Step bright_before =
      step_of_levels(code.window(border - w.far, border - w.left),
                     code.window(border - w.left, border - w.gap), 4.0 * kRowCodeFloor2);
  const Step rough_before =
      step_of_levels(grain.window(border - w.far, border - w.left),
                     grain.window(border - w.left, border - w.gap), 4.0 * kRowGrainFloor2);
  const double worth = rough.size > 0.0 ? 1.0 : kOddGrain;
  const double before =
      bright_before.gain + std::max(0.0, rough_before.size > 0 ? rough_before.gain : 0.0);
  return kShare * (bright.gain + worth * rough.gain - before);
}

/// Log likelihood of the crease at one place of a row. What lies beyond it may be a narrow sliver
/// in one light or a broad band in another.
double place_gain(const Moments& code, const Moments& grain, int border, const Widths& w) {
  const Moments::Window flat = code.window(border - w.left, border);
  const double sliver =
      step_of_levels(flat, code.window(border, border + w.sliver), kRowCodeFloor2).gain;
  const double band =
      step_of_levels(flat, code.window(border, border + w.right_code), kRowCodeFloor2).gain;
  // A border in brightness has a grain of its own: leave it out.
  const Step rough =
      step_of_levels(grain.window(border - w.left, border - w.grain_gap),
                     grain.window(border + w.grain_gap, border + w.right_grain), kRowGrainFloor2);
  return kReadCode * std::max(sliver, band) + (rough.size > 0.0 ? kReadGrain : 0.0) * rough.gain;
}

struct Bounds {
  int left = 0, right = 0;  ///< Columns where the crease may lie.
  double top_mm = 0.0;      ///< Of the bevel, typical.
};

std::optional<Bounds> bounds_of(const FaceImage& image, const BevelPath& bevel, double length_mm) {
  constexpr double kFirstMm = 1.5, kLastShare = 0.6;
  Bounds bounds;
  bounds.left = static_cast<int>(image.column(kFirstMm));
  bounds.right = static_cast<int>(image.column(kLastShare * length_mm));
  std::vector<double> inner;
  for (std::size_t i = 0; i < bevel.x_mm.size(); ++i) {
    if (bevel.x_mm[i] < kLastShare * length_mm) inner.push_back(bevel.z_mm[i]);
  }
  if (inner.empty() || bounds.right - bounds.left < 20) return std::nullopt;
  bounds.top_mm = median(inner);
  return bounds;
}

bool below_bevel(const Outline& outline, const BevelPath& bevel, double x, double z) {
  return z > outline.edge.at(x) + kNearEdgeMm && z < bevel.at(x) - 0.2;
}

/// Rough course of the crease: x every kFindRowMm from the edge up.
std::vector<Eigen::Vector2d> rough_crease(const FaceImage& image, const Cues& cues,
                                          const Outline& outline, const BevelPath& bevel,
                                          const Bounds& bounds) {
  const int rows = static_cast<int>((bounds.top_mm - kNearEdgeMm) / kFindRowMm);
  if (rows < 4) return {};
  const int width = bounds.right - bounds.left;
  const Widths widths = widths_of(image);
  cv::Mat gain(width, rows, CV_32FC1, cv::Scalar(0));
  for (int j = 0; j < rows; ++j) {
    const double z = kNearEdgeMm + (j + 0.5) * kFindRowMm;
    const CellLine line =
        row_cells_at(image, cues, z, 0.5 * kFindRowMm, bounds.left, bounds.right, 0.0);
    const Moments code(line.code), grain(line.grain);
    for (int i = 0; i < width; ++i) {
      if (!below_bevel(outline, bevel, image.x(bounds.left + i), z)) continue;
      const double own = first_border_gain(code, grain, i, widths);
      gain.at<float>(i, j) = static_cast<float>(std::clamp(own, -kMostRowGain, kMostRowGain));
    }
  }
  const std::vector<int> path =
      best_path(gain, {.steepest = 8, .sharpest = 2, .bend_cost = 2.5, .back_cost = 4.0});
  std::vector<Eigen::Vector2d> crease;
  double sum = 0.0;
  for (int j = 0; j < rows; ++j) {
    const int column = path[static_cast<std::size_t>(j)];
    sum += static_cast<double>(gain.at<float>(column, j));
    crease.emplace_back(image.x(bounds.left + column - 0.5), kNearEdgeMm + (j + 0.5) * kFindRowMm);
  }
  if (sum < kLeastMeanGain * rows) return {};
  return crease;
}

/// Log likelihoods of a row, kPlaceStepMm apart, about x.
std::vector<float> gains_about(const FaceImage& image, const Cues& cues, double x, double z,
                               double slope) {
  const Widths widths = widths_of(image);
  const int low = static_cast<int>(image.column(x - kBackCells * kPlaceStepMm)) - 1;
  const int high = static_cast<int>(image.column(x + kAheadCells * kPlaceStepMm)) + 2;
  const int begin = std::max(0, low - widths.far);
  const int end = std::min(cues.code.cols, high + widths.right_grain);
  const CellLine line = row_cells_at(image, cues, z, 0.5 * kReadRowMm, begin, end, slope);
  const Moments code(line.code), grain(line.grain);
  std::vector<float> by_column;
  for (int column = low; column <= high; ++column) {
    by_column.push_back(static_cast<float>(place_gain(code, grain, column - begin, widths)));
  }
  const float most = *std::max_element(by_column.begin(), by_column.end());
  if (most > static_cast<float>(kMostRowGain)) {
    for (float& gain : by_column) gain *= static_cast<float>(kMostRowGain) / most;
  }
  std::vector<float> gains;
  for (int k = -kBackCells; k <= kAheadCells; ++k) {
    // A border at column c lies between the pixels c - 1 and c.
    const double place = image.column(x + k * kPlaceStepMm) + 0.5 - low;
    const auto i = static_cast<std::size_t>(
        std::clamp(place, 0.0, static_cast<double>(by_column.size()) - 1.001));
    const auto share = static_cast<float>(place - static_cast<double>(i));
    gains.push_back((1.0F - share) * by_column[i] + share * by_column[i + 1]);
  }
  return gains;
}

/// x of the rough crease at a height, smooth.
struct Course {
  std::vector<double> z, x;
  double at(double height) const {
    const double place =
        std::clamp((height - z.front()) / kFindRowMm, 0.0, static_cast<double>(z.size()) - 1.001);
    const auto i = static_cast<std::size_t>(place);
    const double share = place - static_cast<double>(i);
    return (1.0 - share) * x[i] + share * x[i + 1];
  }
};

Course smooth_course(const std::vector<Eigen::Vector2d>& crease) {
  constexpr double kReachMm = 5.0;
  Course course;
  for (const Eigen::Vector2d& p : crease) course.z.push_back(p.y()), course.x.push_back(p.x());
  course.x = smoothed(course.z, course.x, std::vector<double>(crease.size(), 1.0), kReachMm);
  return course;
}

/// The crease's lower part, which is straight.
LineFit straight_foot(const std::vector<Eigen::Vector2d>& crease) {
  constexpr double kStraight = 0.65;
  std::vector<Eigen::Vector2d> points;  // (z, x)
  for (std::size_t i = 0; i < crease.size(); ++i) {
    if (static_cast<double>(i) < kStraight * static_cast<double>(crease.size()) ||
        points.size() < 4)
      points.emplace_back(crease[i].y(), crease[i].x());
  }
  return fit_line_robust(points);
}

/// Straight lines through the rows between a tenth and seven tenths of the bevel's height.
/// @param gain  Of the rows, about `foot`.
std::optional<StraightCrease> straight_crease(const cv::Mat& gain,
                                              const std::vector<PlungeReading>& readings,
                                              const LineFit& foot, double height_mm) {
  constexpr double kLow = 0.1, kHigh = 0.7;
  constexpr int kShifts = 60, kTurns = 60;            // Steps either way.
  constexpr double kShiftCells = 0.3, kTurn = 0.004;  // Of x at mid-height, of dx/dz.
  constexpr double kAlike = 1.0;                      // Rows a mm apart err on their own.
  std::vector<int> rows;
  for (std::size_t j = 0; j < readings.size(); ++j) {
    const double z = readings[j].z_mm;
    if (z >= kLow * height_mm && z <= kHigh * height_mm) rows.push_back(static_cast<int>(j));
  }
  if (rows.size() < 5) return std::nullopt;
  const auto z_of = [&](int row) { return readings[static_cast<std::size_t>(row)].z_mm; };
  const double middle = 0.5 * (z_of(rows.front()) + z_of(rows.back()));
  std::vector<Eigen::Vector3d> all;  // shift, turn, gain
  double best = -1e30;
  for (int a = -kShifts; a <= kShifts; ++a) {
    for (int b = -kTurns; b <= kTurns; ++b) {
      double sum = 0.0;
      for (const int row : rows) {
        const double cell =
            kBackCells + a * kShiftCells + b * kTurn * (z_of(row) - middle) / kPlaceStepMm;
        const double place = std::clamp(cell, 0.0, gain.rows - 1.001);
        const int k = static_cast<int>(place);
        const double share = place - k;
        sum += (1.0 - share) * static_cast<double>(gain.at<float>(k, row)) +
               share * static_cast<double>(gain.at<float>(k + 1, row));
      }
      all.emplace_back(a * kShiftCells * kPlaceStepMm, b * kTurn, kAlike * sum);
      best = std::max(best, all.back().z());
    }
  }
  double weights = 0.0;
  Eigen::Vector2d mean = Eigen::Vector2d::Zero(), squares = Eigen::Vector2d::Zero();
  for (const Eigen::Vector3d& line : all) {
    const double weight = std::exp(line.z() - best);
    weights += weight, mean += weight * line.head<2>();
    squares += weight * line.head<2>().cwiseAbs2();
  }
  mean /= weights;
  const Eigen::Vector2d spread = (squares / weights - mean.cwiseAbs2()).cwiseMax(0.0).cwiseSqrt();
  const double slope = std::tan(foot.direction_rad) + mean.y();
  const double x = foot.centre.y() + std::tan(foot.direction_rad) * (middle - foot.centre.x());
  return StraightCrease{x + mean.x(), middle, std::atan(slope), std::hypot(spread.x(), 0.01),
                        std::hypot(spread.y(), 0.5 * kTurn) / (1.0 + slope * slope)};
}

}  // namespace

PlungeLine find_plunge(const FaceImage& image, const Cues& cues, const Outline& outline,
                       const BevelPath& bevel, double length_mm) {
  const std::optional<Bounds> bounds = bounds_of(image, bevel, length_mm);
  if (!bounds) return {};
  const std::vector<Eigen::Vector2d> crease = rough_crease(image, cues, outline, bevel, *bounds);
  if (crease.size() < 4) return {};
  const Course course = smooth_course(crease);
  const LineFit foot = straight_foot(crease);
  const auto on_foot = [&](double z) {
    return foot.centre.y() + std::tan(foot.direction_rad) * (z - foot.centre.x());
  };
  std::vector<PlungeReading> readings;
  for (double z = kNearEdgeMm + 0.5 * kReadRowMm; z < crease.back().y() + 0.3; z += kReadRowMm) {
    PlungeReading reading;
    reading.z_mm = z, reading.x_mm = on_foot(z);
    if (below_bevel(outline, bevel, course.at(z), z)) readings.push_back(reading);
  }
  if (readings.size() < 6) return {};
  const int cells = kBackCells + kAheadCells + 1;
  cv::Mat gain(cells, static_cast<int>(readings.size()), CV_32FC1);
  for (std::size_t j = 0; j < readings.size(); ++j) {
    const PlungeReading& row = readings[j];
    const double slope = course.at(row.z_mm + 0.5) - course.at(row.z_mm - 0.5);
    const std::vector<float> own = gains_about(image, cues, row.x_mm, row.z_mm, slope);
    for (int k = 0; k < cells; ++k)
      gain.at<float>(k, static_cast<int>(j)) = own[static_cast<std::size_t>(k)];
  }
  const std::vector<Place> places =
      places_along(gain, {.steepest = 12, .up = kTurnOnce, .down = kTurnBack});
  for (std::size_t j = 0; j < readings.size(); ++j) {
    PlungeReading& reading = readings[j];
    reading.x_mm += (places[j].cell - kBackCells) * kPlaceStepMm;
    reading.u_mm = std::hypot(places[j].spread * kPlaceStepMm, kPlaceStepMm / std::sqrt(12.0));
    const int cell = std::clamp(static_cast<int>(std::lround(places[j].cell)), 0, cells - 1);
    reading.gain = static_cast<double>(gain.at<float>(cell, static_cast<int>(j)));
  }
  constexpr double kMostUMm = 0.25;
  constexpr std::size_t kBeside = 2;
  mark_seen(readings, kMostUMm, kBeside);
  PlungeLine line;
  line.straight = straight_crease(gain, readings, foot, crease.back().y());
  line.readings = std::move(readings);
  return line;
}

}  // namespace evenbevel::side
