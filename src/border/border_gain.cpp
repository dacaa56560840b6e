#include "border_gain.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <Eigen/Dense>

namespace evenbevel {
namespace {

constexpr double kBesideCells = 12.0;  // Cells a side.
constexpr double kClearCells = 2.5;    // Beyond the border's own blur.
// A difference's own reach adds to the blur: of the smoothing across along x, of its arms along z.
constexpr double kSmoothing2 = 0.5, kArms2 = 1.0 / 3.0;
constexpr double kStepFloor2 = 0.004 * 0.004;
constexpr double kEnergyFloor = 2e-6;           // Of a squared difference: the sensor's noise.
constexpr double kSquaresFloor2 = 0.25 * 0.25;  // Of their logarithms.

/// Share of a blurred step `distance` beyond its middle.
double risen(double distance, double blur) {
  return 0.5 * std::erfc(-distance / (std::sqrt(2.0) * blur));
}

struct Span {
  int first = 0, end = 0;
};

Span cells_within(const BorderCells& cells, double at, double reach) {
  return {
      std::max(0, static_cast<int>(std::ceil(at - reach))),
      std::min(static_cast<int>(cells.code.size()), static_cast<int>(std::floor(at + reach)) + 1)};
}

double code_gain(const BorderCells& cells, double at) {
  const Span span = cells_within(cells, at, kBesideCells);
  const int n = span.end - span.first;
  if (n < 8) return 0.0;
  Eigen::Matrix3d normal = Eigen::Matrix3d::Zero();
  Eigen::Vector3d right = Eigen::Vector3d::Zero();
  double squares = 0.0;
  const double level = cells.code[static_cast<std::size_t>(span.first)];
  for (int i = span.first; i < span.end; ++i) {
    const double d = i - at, value = cells.code[static_cast<std::size_t>(i)] - level;
    const Eigen::Vector3d row(1.0, d / kBesideCells, risen(d, cells.blur));
    normal += row * row.transpose();
    right += value * row;
    squares += value * value;
  }
  const Eigen::Vector2d line = normal.topLeftCorner<2, 2>().ldlt().solve(right.head<2>());
  const Eigen::Vector3d step = normal.ldlt().solve(right);
  const double before = std::max(0.0, squares - line.dot(right.head<2>()));
  const double after = std::max(0.0, squares - step.dot(right));
  const double floor = n * kStepFloor2;
  return 0.5 * n * std::log((before + floor) / (after + floor));
}

double log_of(double square) { return std::log(square + kEnergyFloor); }

/// Geometric mean: a speck among the cells weighs little.
double level_over(const std::vector<double>& squares, double from, double to) {
  const int first = std::max(0, static_cast<int>(std::ceil(from)));
  const int end = std::min(static_cast<int>(squares.size()), static_cast<int>(std::floor(to)) + 1);
  double sum = 0.0;
  for (int i = first; i < end; ++i) sum += log_of(squares[static_cast<std::size_t>(i)]);
  return std::exp(end > first ? sum / (end - first) : std::log(kEnergyFloor));
}

/// Squares above (toward the spine) and below a border.
struct Sides {
  double above = 0.0, below = 0.0;
};

Sides sides_of(const std::vector<double>& squares, double at) {
  return {level_over(squares, at - kBesideCells, at - kClearCells),
          level_over(squares, at + kClearCells, at + kBesideCells)};
}

/// How much likelier the cells' squares are as `expected(below)` than all alike, by the scatter of
/// their logarithms.
template <class Expected>
double gain_of_squares(const std::vector<double>& squares, const Span& span, double at,
                       const Expected& expected) {
  double sum = 0.0, sum2 = 0.0, after = 0.0;
  for (int i = span.first; i < span.end; ++i) {
    const double value = log_of(squares[static_cast<std::size_t>(i)]);
    sum += value, sum2 += value * value;
    after += std::pow(value - std::log(expected(i - at)), 2);
  }
  const double n = span.end - span.first;
  const double before = std::max(0.0, sum2 - sum * sum / n);
  return 0.5 * n * std::log((before + n * kSquaresFloor2) / (after + n * kSquaresFloor2));
}

/// Scratches run up the bevel and end at the border: their strength falls as the blurred step.
double along_at(const Sides& sides, double below, double blur) {
  const double share = risen(below, std::sqrt(blur * blur + kSmoothing2));
  const double strength = sides.below > sides.above ? share * share : share;
  return sides.above + (sides.below - sides.above) * strength;
}

/// Streaks of the flat lie side by side, finer than a pixel: what shows of each is the blur's
/// response to a line, and of its difference across, the response's slope: two lobes beside the
/// streak. Their squares add up, so the flat's grain reaches further over the border than one lobe
/// in its middle would, and fades as the integral of z^2 phi(z), Phi(z) - z phi(z).
double across_at(const Sides& sides, double below, double blur) {
  const double z = -below * std::sqrt(2.0 / (blur * blur + kArms2));
  const double density = std::exp(-0.5 * z * z) / std::sqrt(2.0 * std::numbers::pi);
  const double share = risen(z, 1.0) - z * density;
  return sides.below + (sides.above - sides.below) * share;
}

/// The difference across the border itself, squared.
double ridge_at(double below, double blur) {
  return std::exp(-below * below / (blur * blur + kArms2));
}

double ridge_of(const BorderCells& cells, const Span& span, const Sides& sides, double at) {
  double own = 0.0, both = 0.0;
  for (int i = span.first; i < span.end; ++i) {
    const double ridge = ridge_at(i - at, cells.blur);
    own += ridge * ridge;
    both +=
        ridge * (cells.across[static_cast<std::size_t>(i)] - across_at(sides, i - at, cells.blur));
  }
  return own > 0.0 ? std::max(0.0, both / own) : 0.0;
}

double grain_gain(const BorderCells& cells, double at) {
  const Span span = cells_within(cells, at, kBesideCells);
  if (span.end - span.first < 8) return 0.0;
  const Sides along = sides_of(cells.along, at), across = sides_of(cells.across, at);
  const double ridge = ridge_of(cells, span, across, at);
  return gain_of_squares(cells.along, span, at,
                         [&](double below) { return along_at(along, below, cells.blur); }) +
         gain_of_squares(cells.across, span, at, [&](double below) {
           return across_at(across, below, cells.blur) + ridge * ridge_at(below, cells.blur);
         });
}

}  // namespace

BorderGain border_gain(const BorderCells& cells, double at) {
  return {code_gain(cells, at), grain_gain(cells, at)};
}

}  // namespace evenbevel
