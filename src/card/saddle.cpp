#include "saddle.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include <Eigen/Dense>

namespace evenbevel {
namespace {

// In units of the cell (pitch). The marker begins 0.125 inside the white cell.
constexpr double kBand = 0.10;  // half-width of the band along each line
constexpr double kArm = 0.34;   // length of the arms; the window's half-width
constexpr double kMaxArm_px = 40.0;
constexpr double kMinArm_px = 3.0;
constexpr double kMinBand_px = 2.0;
constexpr double kConverged_px = 1e-3;
constexpr int kMaxSteps = 25;

struct Window {
  Eigen::Vector2d u, v;  // unit vectors along the lines
  double arm_px = 0.0;
  double band_u_px = 0.0, band_v_px = 0.0;  // half-widths of the bands along u and v
};

double cross(const Eigen::Vector2d& a, const Eigen::Vector2d& b) {
  return a.x() * b.y() - a.y() * b.x();
}

double border_distance_px(const cv::Mat& grey, const Eigen::Vector2d& q_px) {
  return std::min({q_px.x(), q_px.y(), grey.cols - 1 - q_px.x(), grey.rows - 1 - q_px.y()});
}

// Beyond the arms: samples beside the lines, gradients, rounding and what the start is off.
double margin_px(const SaddleGuess& guess) {
  return 0.1 * std::max(guess.u_px.norm(), guess.v_px.norm()) + 2.0;
}

// Empty when the picture's border is too close for arms of half their usual length.
std::optional<Window> window_of(const cv::Mat& grey, const SaddleGuess& guess) {
  constexpr double kLeastArmShare = 0.5;
  Window window;
  window.u = guess.u_px.normalized();
  window.v = guess.v_px.normalized();
  const double spacing = std::min(guess.u_px.norm(), guess.v_px.norm());
  const double usual_px = std::clamp(kArm * spacing, kMinArm_px, kMaxArm_px);
  const double area = std::abs(cross(guess.u_px, guess.v_px));
  window.band_u_px = std::max(kMinBand_px, kBand * area / guess.u_px.norm());
  window.band_v_px = std::max(kMinBand_px, kBand * area / guess.v_px.norm());
  const double room_px = border_distance_px(grey, guess.q_px) - margin_px(guess);
  window.arm_px = std::min(usual_px, room_px);
  if (window.arm_px < std::max(kMinArm_px, kLeastArmShare * usual_px)) return std::nullopt;
  return window;
}

double sample(const cv::Mat& grey, const Eigen::Vector2d& q_px) {
  const int x = static_cast<int>(std::floor(q_px.x()));
  const int y = static_cast<int>(std::floor(q_px.y()));
  const double dx = q_px.x() - x, dy = q_px.y() - y;
  const uchar* top = grey.ptr<uchar>(y) + x;
  const uchar* bottom = grey.ptr<uchar>(y + 1) + x;
  return (1 - dy) * ((1 - dx) * top[0] + dx * top[1]) +
         dy * ((1 - dx) * bottom[0] + dx * bottom[1]);
}

// Biweight: 1 in the middle, 0 from 1 on, with a smooth end.
double taper(double ratio) {
  const double rest = std::max(0.0, 1.0 - ratio * ratio);
  return rest * rest;
}

struct Normal {
  Eigen::Matrix2d A = Eigen::Matrix2d::Zero();
  Eigen::Vector2d b = Eigen::Vector2d::Zero();  // about the current centre
  double c = 0.0;
  double sum = 0.0;

  void add(double weight, const Eigen::Vector2d& normal, double strength,
           const Eigen::Vector2d& d) {
    const double w = weight * strength;
    const double offset = normal.dot(d);
    A += w * normal * normal.transpose();
    b += w * offset * normal;
    c += w * offset * offset;
    sum += w;
  }
};

// Gradients across each line in its band, around the centre.
Normal accumulate(const cv::Mat& grey, const Eigen::Vector2d& centre, const Window& window) {
  Normal normal;
  const Eigen::Vector2d across_u(-window.u.y(), window.u.x());
  const Eigen::Vector2d across_v(-window.v.y(), window.v.x());
  const int reach = static_cast<int>(std::ceil(window.arm_px));
  const int x0 = static_cast<int>(std::lround(centre.x()));
  const int y0 = static_cast<int>(std::lround(centre.y()));
  for (int y = y0 - reach; y <= y0 + reach; ++y) {
    const uchar* above = grey.ptr<uchar>(y - 1);
    const uchar* row = grey.ptr<uchar>(y);
    const uchar* below = grey.ptr<uchar>(y + 1);
    for (int x = x0 - reach; x <= x0 + reach; ++x) {
      const Eigen::Vector2d d = Eigen::Vector2d(x, y) - centre;
      const double off_u = across_u.dot(d), off_v = across_v.dot(d);
      const double in_u = taper(off_u / window.band_u_px), in_v = taper(off_v / window.band_v_px);
      if (in_u <= 0.0 && in_v <= 0.0) continue;
      const double along = taper(d.norm() / window.arm_px);
      const Eigen::Vector2d gradient(0.5 * (row[x + 1] - row[x - 1]), 0.5 * (below[x] - above[x]));
      const double g_u = across_u.dot(gradient), g_v = across_v.dot(gradient);
      if (in_u > 0.0) normal.add(along * in_u, across_u, g_u * g_u, d);
      if (in_v > 0.0) normal.add(along * in_v, across_v, g_v * g_v, d);
    }
  }
  return normal;
}

// Mean step from the dark to the light side along one arm; negative when the other way round.
double arm_contrast(const cv::Mat& grey, const Eigen::Vector2d& centre, const Eigen::Vector2d& arm,
                    const Eigen::Vector2d& to_light) {
  constexpr std::array<double, 4> kAlong{0.35, 0.55, 0.75, 0.95};
  constexpr double kBeside = 0.0625;  // of a cell: the middle of the white ring round a marker
  double step = 0.0;
  for (const double along : kAlong) {
    const Eigen::Vector2d on_line = centre + along * arm;
    step += sample(grey, on_line + kBeside * to_light) - sample(grey, on_line - kBeside * to_light);
  }
  return step / kAlong.size();
}

std::array<double, 4> arm_contrasts(const cv::Mat& grey, const Eigen::Vector2d& q_px,
                                    const SaddleGuess& guess, const Window& window) {
  const double sign = guess.dark_between ? -1.0 : 1.0;
  const Eigen::Vector2d u = guess.u_px, v = guess.v_px;
  const Eigen::Vector2d arm_u = window.arm_px * window.u, arm_v = window.arm_px * window.v;
  return {arm_contrast(grey, q_px, arm_u, sign * v), arm_contrast(grey, q_px, -arm_u, -sign * v),
          arm_contrast(grey, q_px, arm_v, sign * u), arm_contrast(grey, q_px, -arm_v, -sign * u)};
}

// All four arms step the right way and about alike. Returns the weakest.
std::optional<double> saddle_contrast(const cv::Mat& grey, const Eigen::Vector2d& q_px,
                                      const SaddleGuess& guess, const Window& window) {
  constexpr double kLeastStep = 8.0;     // grey levels
  constexpr double kWeakestShare = 0.4;  // of the strongest arm
  const std::array<double, 4> steps = arm_contrasts(grey, q_px, guess, window);
  const double weakest = *std::min_element(steps.begin(), steps.end());
  const double strongest = *std::max_element(steps.begin(), steps.end());
  if (weakest < kLeastStep || weakest < kWeakestShare * strongest) return std::nullopt;
  return weakest;
}

}  // namespace

std::optional<Saddle> refine_saddle(const cv::Mat& grey, const SaddleGuess& guess) {
  const std::optional<Window> window = window_of(grey, guess);
  if (!window) return std::nullopt;
  const double runaway_px = 0.2 * std::min(guess.u_px.norm(), guess.v_px.norm());
  const double least_room_px =
      window->arm_px + 0.0625 * std::max(guess.u_px.norm(), guess.v_px.norm()) + 2.0;
  Eigen::Vector2d q_px = guess.q_px;
  Normal normal;
  for (int step = 0; step < kMaxSteps; ++step) {
    normal = accumulate(grey, q_px, *window);
    if (normal.A.determinant() <= 1e-3 * normal.sum * normal.sum) return std::nullopt;
    const Eigen::Vector2d move = normal.A.ldlt().solve(normal.b);
    q_px += move;
    if ((q_px - guess.q_px).norm() > runaway_px) return std::nullopt;
    if (border_distance_px(grey, q_px) < least_room_px) return std::nullopt;
    if (move.norm() < kConverged_px) break;
  }
  const std::optional<double> contrast = saddle_contrast(grey, q_px, guess, *window);
  if (!contrast) return std::nullopt;
  return Saddle{q_px, std::sqrt(normal.c / normal.sum), *contrast};
}

}  // namespace evenbevel
