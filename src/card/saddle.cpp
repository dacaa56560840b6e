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

Window window_of(const SaddleGuess& guess) {
  Window window;
  window.u = guess.u_px.normalized();
  window.v = guess.v_px.normalized();
  const double spacing = std::min(guess.u_px.norm(), guess.v_px.norm());
  window.arm_px = std::clamp(kArm * spacing, kMinArm_px, kMaxArm_px);
  const double area = std::abs(cross(guess.u_px, guess.v_px));
  window.band_u_px = std::max(kMinBand_px, kBand * area / guess.u_px.norm());
  window.band_v_px = std::max(kMinBand_px, kBand * area / guess.v_px.norm());
  return window;
}

double sample(const cv::Mat& grey, const Eigen::Vector2d& q_px) {
  const int x = static_cast<int>(std::floor(q_px.x()));
  const int y = static_cast<int>(std::floor(q_px.y()));
  const double fx = q_px.x() - x, fy = q_px.y() - y;
  const uchar* top = grey.ptr<uchar>(y) + x;
  const uchar* bottom = grey.ptr<uchar>(y + 1) + x;
  return (1 - fy) * ((1 - fx) * top[0] + fx * top[1]) +
         fy * ((1 - fx) * bottom[0] + fx * bottom[1]);
}

bool inside(const cv::Mat& grey, const Eigen::Vector2d& q_px, double margin_px) {
  return q_px.x() >= margin_px && q_px.y() >= margin_px && q_px.x() < grey.cols - 1 - margin_px &&
         q_px.y() < grey.rows - 1 - margin_px;
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
      const double along = taper(d.norm() / window.arm_px);
      const double w_u = along * taper(off_u / window.band_u_px);
      const double w_v = along * taper(off_v / window.band_v_px);
      if (w_u <= 0.0 && w_v <= 0.0) continue;
      const Eigen::Vector2d gradient(0.5 * (row[x + 1] - row[x - 1]), 0.5 * (below[x] - above[x]));
      const double g_u = across_u.dot(gradient), g_v = across_v.dot(gradient);
      normal.add(w_u, across_u, g_u * g_u, d);
      normal.add(w_v, across_v, g_v * g_v, d);
    }
  }
  return normal;
}

// Mean step from the dark to the light side along one arm; negative when the other way round.
double arm_contrast(const cv::Mat& grey, const Eigen::Vector2d& centre, const Eigen::Vector2d& arm,
                    const Eigen::Vector2d& to_light) {
  constexpr std::array<double, 4> kAlong{0.12, 0.19, 0.26, 0.33};
  double step = 0.0;
  for (const double along : kAlong) {
    const Eigen::Vector2d on_line = centre + along * arm;
    step += sample(grey, on_line + 0.0625 * to_light) - sample(grey, on_line - 0.0625 * to_light);
  }
  return step / kAlong.size();
}

std::array<double, 4> arm_contrasts(const cv::Mat& grey, const Eigen::Vector2d& q_px,
                                    const SaddleGuess& guess) {
  const double sign = guess.dark_between ? -1.0 : 1.0;
  const Eigen::Vector2d u = guess.u_px, v = guess.v_px;
  return {arm_contrast(grey, q_px, u, sign * v), arm_contrast(grey, q_px, -u, -sign * v),
          arm_contrast(grey, q_px, v, sign * u), arm_contrast(grey, q_px, -v, -sign * u)};
}

// All four arms step the right way and about alike. Returns the weakest.
std::optional<double> saddle_contrast(const cv::Mat& grey, const Eigen::Vector2d& q_px,
                                      const SaddleGuess& guess) {
  constexpr double kLeastStep = 8.0;     // grey levels
  constexpr double kWeakestShare = 0.4;  // of the strongest arm
  const std::array<double, 4> steps = arm_contrasts(grey, q_px, guess);
  const double weakest = *std::min_element(steps.begin(), steps.end());
  const double strongest = *std::max_element(steps.begin(), steps.end());
  if (weakest < kLeastStep || weakest < kWeakestShare * strongest) return std::nullopt;
  return weakest;
}

}  // namespace

std::optional<Saddle> refine_saddle(const cv::Mat& grey, const SaddleGuess& guess) {
  const Window window = window_of(guess);
  const double runaway_px = 0.25 * std::min(guess.u_px.norm(), guess.v_px.norm());
  // Room for the arms' samples (0.33 of a cell along, 0.0625 across), gradients and rounding.
  const double longest = std::max(guess.u_px.norm(), guess.v_px.norm());
  const double margin_px = std::max(window.arm_px + 2.0, 0.40 * longest + 1.0);
  Eigen::Vector2d q_px = guess.q_px;
  Normal normal;
  for (int step = 0; step < kMaxSteps; ++step) {
    if (!inside(grey, q_px, margin_px) || (q_px - guess.q_px).norm() > runaway_px) {
      return std::nullopt;
    }
    normal = accumulate(grey, q_px, window);
    if (normal.A.determinant() <= 1e-3 * normal.sum * normal.sum) return std::nullopt;
    const Eigen::Vector2d move = normal.A.ldlt().solve(normal.b);
    q_px += move;
    if (move.norm() < kConverged_px) break;
  }
  if (!inside(grey, q_px, margin_px)) return std::nullopt;
  const std::optional<double> contrast = saddle_contrast(grey, q_px, guess);
  if (!contrast) return std::nullopt;
  return Saddle{q_px, std::sqrt(normal.c / normal.sum), *contrast};
}

}  // namespace evenbevel
