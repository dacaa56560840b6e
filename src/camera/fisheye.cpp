// A fisheye: a ray's angle to the axis, not its tangent, goes into the picture's radius.
// J. Kannala and S. S. Brandt, IEEE PAMI 28 (2006) 1335-1340: its series, with the first
// coefficient in the focal lengths as OpenCV's cv::fisheye has it:
// theta_d = theta (1 + k1 theta^2 + k2 theta^4 + k3 theta^6 + k4 theta^8).

#include <array>
#include <cmath>

#include "camera/lens_models.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel {
namespace {

// Common practice, no source: action cameras as they are calibrated; the usual shares as for the
// pinhole.
constexpr std::array<LensCoefficient, 4> kFisheyeCoefficients = {{
    {"k1", 0.004, 0.08, 2, 0.0},
    {"k2", 0.01, 0.08, 4, 0.2},
    {"k3", 0.01, 0.05, 6, 0.1},
    {"k4", 0.005, 0.02, 8, 0.05},
}};

// The long side sees 190, 130, 90 and 60 degrees.
constexpr std::array kFisheyeFocalStarts = {0.3, 0.45, 0.65, 0.95};

constexpr double kMostAngle_rad = 0.5 * kPi;

double bent_angle(const LensCoefficients& k, double theta) {
  const double t2 = theta * theta;
  return theta * (1.0 + t2 * (k(0) + t2 * (k(1) + t2 * (k(2) + t2 * k(3)))));
}

double bent_angle_slope(const LensCoefficients& k, double theta) {
  const double t2 = theta * theta;
  return 1.0 + t2 * (3.0 * k(0) + t2 * (5.0 * k(1) + t2 * (7.0 * k(2) + t2 * 9.0 * k(3))));
}

/// Newton's steps within the first stretch of the angle in which the bent angle is reached: up to
/// there it must grow.
std::optional<double> straight_angle(const LensCoefficients& k, double bent) {
  constexpr int kStretches = 32, kMostSteps = 50;
  constexpr double kClose = 1e-15;
  double low = 0.0, high = 0.0;
  for (int i = 1; i <= kStretches; ++i) {
    low = high;
    high = kMostAngle_rad * i / kStretches;
    if (bent_angle(k, high) >= bent) break;
    if (!(bent_angle_slope(k, high) > 0.0)) return std::nullopt;
  }
  if (!(bent_angle(k, high) >= bent)) return std::nullopt;
  double theta = 0.5 * (low + high);
  for (int step = 0; step < kMostSteps; ++step) {
    const double miss = bent_angle(k, theta) - bent;
    (miss > 0.0 ? high : low) = theta;
    const double newton = theta - miss / bent_angle_slope(k, theta);
    const double next = newton > low && newton < high ? newton : 0.5 * (low + high);
    const bool settled = std::abs(next - theta) <= kClose;
    theta = next;
    if (settled) break;
  }
  if (!(theta < kMostAngle_rad) || !(bent_angle_slope(k, theta) > 0.0)) return std::nullopt;
  return theta;
}

class Fisheye final : public LensModel {
 public:
  std::string_view name() const override { return "fisheye"; }
  std::span<const LensCoefficient> coefficients() const override { return kFisheyeCoefficients; }
  int fewest_in_file() const override { return 4; }
  std::span<const double> focal_starts() const override { return kFisheyeFocalStarts; }
  bool straight_without_coefficients() const override { return false; }

  Eigen::Vector2d bend(const LensCoefficients& values,
                       const Eigen::Vector2d& straight) const override {
    const double r = straight.norm();
    if (!(r > 0.0)) return straight;
    return bent_angle(values, std::atan(r)) / r * straight;
  }

  Bent bend_with_derivatives(const LensCoefficients& values,
                             const Eigen::Vector2d& straight) const override {
    const double r = straight.norm(), theta = std::atan(r), t2 = theta * theta;
    const double per_r = r > 0.0 ? theta / r : 1.0;
    const double gain = r > 0.0 ? bent_angle(values, theta) / r : 1.0;
    Bent bent{.xy = gain * straight, .d_xy = {}, .d_coefficients = {}};
    bent.d_xy = gain * Eigen::Matrix2d::Identity() +
                gain_slope_over_r(values, r, theta, gain) * straight * straight.transpose();
    bent.d_coefficients.resize(2, 4);
    double power = per_r;
    for (int i = 0; i < 4; ++i) {
      power *= t2;
      bent.d_coefficients.col(i) = power * straight;
    }
    return bent;
  }

  std::optional<Eigen::Vector2d> straighten(const LensCoefficients& values,
                                            const Eigen::Vector2d& bent) const override {
    const double bent_rad = bent.norm();
    if (bent_rad == 0.0) return bent;
    const std::optional<double> theta = straight_angle(values, bent_rad);
    if (!theta) return std::nullopt;
    return std::tan(*theta) / bent_rad * bent;
  }

 private:
  static double gain_slope_over_r(const LensCoefficients& values, double r, double theta,
                                  double gain) {
    // Nearer to the axis the difference below is rounding; the series leaves out r^2 of it.
    constexpr double kNearAxis = 1e-4;
    if (r < kNearAxis) return 2.0 * (values(0) - 1.0 / 3.0);
    return (bent_angle_slope(values, theta) / (1.0 + r * r) - gain) / (r * r);
  }
};

}  // namespace

const LensModel& fisheye_model() {
  static const Fisheye model;
  return model;
}

}  // namespace evenbevel
