// A pinhole with D. C. Brown's distortion, Photogrammetric Engineering 37 (1971) 855-866, with the
// names and the order of OpenCV.

#include <array>
#include <cmath>

#include <Eigen/LU>

#include "camera/lens_models.hpp"

namespace evenbevel {
namespace {

// Common practice, no source: what phones and USB cameras show when they are calibrated, and how
// well a dozen photos of a printed card find it. The usual shares: lenses that need more get it as
// soon as corners are seen far out.
constexpr std::array<LensCoefficient, 5> kPinholeCoefficients = {{
    {"k1", 0.004, 0.08, 2, 0.0},
    {"k2", 0.01, 0.15, 4, 0.2},
    {"p1", 0.0003, 0.001, 0, 0.0},
    {"p2", 0.0003, 0.001, 0, 0.0},
    {"k3", 0.01, 0.08, 6, 0.1},
}};

constexpr std::array kPinholeFocalStarts = {0.75, 1.25, 2.5};

struct Distorted {
  Eigen::Vector2d xy;
  Eigen::Matrix2d d_xy;  ///< By the undistorted point.
  double radial = 1.0;   ///< Below zero: the model has folded over.
};

Distorted distort(const LensCoefficients& values, const Eigen::Vector2d& undistorted) {
  const double k1 = values(0), k2 = values(1), p1 = values(2), p2 = values(3), k3 = values(4);
  const double x = undistorted.x(), y = undistorted.y();
  const double r2 = x * x + y * y, r4 = r2 * r2, r6 = r4 * r2;
  const double radial = 1.0 + k1 * r2 + k2 * r4 + k3 * r6;
  const double d_radial = 2.0 * (k1 + 2.0 * k2 * r2 + 3.0 * k3 * r4);  // by x, divided by x

  Distorted out;
  out.radial = radial;
  out.xy = {x * radial + 2.0 * p1 * x * y + p2 * (r2 + 2.0 * x * x),
            y * radial + p1 * (r2 + 2.0 * y * y) + 2.0 * p2 * x * y};
  const double cross = x * y * d_radial + 2.0 * p1 * x + 2.0 * p2 * y;
  out.d_xy << radial + x * x * d_radial + 2.0 * p1 * y + 6.0 * p2 * x, cross, cross,
      radial + y * y * d_radial + 6.0 * p1 * y + 2.0 * p2 * x;
  return out;
}

class Pinhole final : public LensModel {
 public:
  std::string_view name() const override { return "pinhole"; }
  std::span<const LensCoefficient> coefficients() const override { return kPinholeCoefficients; }
  int fewest_in_file() const override { return 4; }
  std::span<const double> focal_starts() const override { return kPinholeFocalStarts; }
  bool straight_without_coefficients() const override { return true; }

  Eigen::Vector2d bend(const LensCoefficients& values,
                       const Eigen::Vector2d& straight) const override {
    return distort(values, straight).xy;
  }

  Bent bend_with_derivatives(const LensCoefficients& values,
                             const Eigen::Vector2d& straight) const override {
    const Distorted at = distort(values, straight);
    const double x = straight.x(), y = straight.y();
    const double r2 = x * x + y * y, r4 = r2 * r2, r6 = r4 * r2;
    Bent bent{.xy = at.xy, .d_xy = at.d_xy, .d_coefficients = {}};
    bent.d_coefficients.resize(2, 5);
    bent.d_coefficients << x * r2, x * r4, 2.0 * x * y, r2 + 2.0 * x * x, x * r6,  //
        y * r2, y * r4, r2 + 2.0 * y * y, 2.0 * x * y, y * r6;
    return bent;
  }

  /// Newton steps from the bent point, halved while they do not help.
  std::optional<Eigen::Vector2d> straighten(const LensCoefficients& values,
                                            const Eigen::Vector2d& bent) const override {
    constexpr int kMostSteps = 50;
    constexpr double kClose = 1e-12;
    Eigen::Vector2d xy = bent;
    Distorted at = distort(values, xy);
    Eigen::Vector2d miss = bent - at.xy;
    for (int step = 0; step < kMostSteps && miss.norm() > kClose; ++step) {
      if (std::abs(at.d_xy.determinant()) < 1e-9) return std::nullopt;
      const Eigen::Vector2d move = at.d_xy.inverse() * miss;
      const Eigen::Vector2d from = xy;
      double part = 1.0;
      for (int halving = 0; halving < 10; ++halving, part *= 0.5) {
        xy = from + part * move;
        at = distort(values, xy);
        if ((bent - at.xy).norm() < miss.norm()) break;
      }
      miss = bent - at.xy;
    }
    const bool unfolded = at.d_xy.determinant() > 0.0 && at.radial > 0.0;
    if (!(miss.norm() <= kClose * (1.0 + bent.norm())) || !unfolded) return std::nullopt;
    return xy;
  }
};

}  // namespace

const LensModel& pinhole_model() {
  static const Pinhole model;
  return model;
}

}  // namespace evenbevel
