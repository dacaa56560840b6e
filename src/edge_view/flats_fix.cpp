#include "flats_fix.hpp"

#include <algorithm>
#include <cmath>

#include <Eigen/LU>

namespace evenbevel::edge {
namespace {

constexpr double kCornerUMm =
    0.017;  // A broken corner is 0.02-0.05 mm wide and may be read anywhere
            // in it (common practice, no source): 0.05 / sqrt(12), rounded.
constexpr double kEdgeHeightMm = 6.0, kEdgeHeightU = 5.0;  // Edge over the card: 2-10 mm.
constexpr double kDepthShareU = 0.09;  // 2.5 degrees of an assumed facet angle, of the depth.
constexpr double kBowMm = 0.02;  // Stock out of flat, per (100 mm)^2: common practice, no source.
constexpr double kLinePx = 0.3;  // Of a rim's direction: from one end of its stretch to the other.

/// Distance of the rims, in the reference plane, T apart at a height.
double apparent_mm(double thickness_mm, double height_mm, const StripFrame& frame) {
  const double camera = frame.camera_mm().z();
  return thickness_mm * (camera - frame.reference_height_mm()) / (camera - height_mm);
}

class Equations {
 public:
  void add(double middle, double height, double value, double u) {
    const Eigen::Vector2d row(middle, height);
    normal_ += row * row.transpose() / (u * u);
    right_ += row * value / (u * u);
    squares_ += value * value / (u * u);
    ++count_;
  }
  /// Over 1: the readings differ by more than they were thought to (Birge's ratio).
  double disagreement() const {
    const double chi2 = squares_ - right_.dot(solution());
    return std::sqrt(std::max(chi2 / std::max(count_ - 2, 1), 1.0));
  }
  Eigen::Vector2d solution() const { return normal_.inverse() * right_; }
  /// How far the middle moves per mm that one of the readings is off.
  double middle_per(double middle, double height, double u) const {
    return (normal_.inverse() * Eigen::Vector2d(middle, height))[0] / (u * u);
  }
  Eigen::Matrix2d covariance() const { return normal_.inverse(); }

 private:
  Eigen::Matrix2d normal_ = Eigen::Matrix2d::Zero();
  Eigen::Vector2d right_ = Eigen::Vector2d::Zero();
  double squares_ = 0.0;
  int count_ = 0;
};

}  // namespace

double carried_mm(double t_mm, double from_mm, double to_mm, const StripFrame& frame) {
  const Eigen::Vector3d camera = frame.camera_mm();
  return camera.y() + (t_mm - camera.y()) * (camera.z() - from_mm) / (camera.z() - to_mm);
}

double shape_u_mm(const Rim& rim, double px_per_mm) {
  // A border next to a rim that is not quite the step it is taken for pulls the rim by a share of
  // its own step; shade that changes beside it, and what is left of sharpening, moves it without
  // any border. Type B (JCGM 100, 4.3), from rims of known place in random scenes under lamps.
  constexpr double kLocationPx = 0.15, kPullPx = 0.25, kMostPx = 1.0;
  return std::hypot(kLocationPx, std::min(kPullPx * rim.beside_share, kMostPx)) / px_per_mm;
}

/// A strip that is not told apart is of any width up to the widest, and the border is read anywhere
/// in it, from the rim at its inner end: the mean square of the product of two such shares is 1/9.
double strip_u_mm(const Rim& rim, double px_per_mm) {
  return rim.hidden_strip_px / 3.0 / px_per_mm;
}

FlatsFix fix_flats(const RimPair& beside, const std::optional<RimPair>& ricasso,
                   const StripFrame& frame, double px_per_mm, double thickness_mm,
                   double depth_mm) {
  const double s = 0.5 * (beside.s_begin_mm + beside.s_end_mm);
  const double high = beside.high.line.t_mm(s), low = beside.low.line.t_mm(s);
  const auto width_at = [&](double edge_mm) {
    return apparent_mm(thickness_mm, edge_mm - depth_mm, frame);
  };
  const double zero = width_at(kEdgeHeightMm), per_mm = width_at(kEdgeHeightMm + 1.0) - zero;
  Equations equations;  // Middle, and height of the edge over the usual one.
  const double u_high_rim = shape_u_mm(beside.high, px_per_mm);
  const double u_low_rim = shape_u_mm(beside.low, px_per_mm);
  equations.add(1.0, 0.5 * per_mm, high - 0.5 * zero, u_high_rim);
  equations.add(1.0, -0.5 * per_mm, low + 0.5 * zero, u_low_rim);
  equations.add(0.0, 1.0, 0.0, kEdgeHeightU);
  if (ricasso) {
    const double there = 0.5 * (ricasso->s_begin_mm + ricasso->s_end_mm);
    const double width = ricasso->width_mm(there);
    const double u_high = std::hypot(shape_u_mm(ricasso->high, px_per_mm), kCornerUMm);
    const double u_low = std::hypot(shape_u_mm(ricasso->low, px_per_mm), kCornerUMm);
    equations.add(0.0, per_mm, width - apparent_mm(thickness_mm, kEdgeHeightMm, frame),
                  std::hypot(u_high, u_low));
    // Along the blade the flats run as they do beside the land, where they are seen farthest.
    const double slope = 0.5 * (beside.high.line.slope + beside.low.line.slope);
    const double edge_mm = frame.reference_height_mm();
    const double mid = carried_mm(ricasso->mid_mm(there), edge_mm, edge_mm - depth_mm, frame) +
                       slope * (s - there);
    const double aslant = std::abs(mid - frame.camera_mm().y()) / (frame.camera_mm().z() - edge_mm);
    const double far = std::abs(s - there),
                 length = std::max(beside.s_end_mm - beside.s_begin_mm, 1.0);
    const double u =
        std::hypot(std::hypot(0.5 * std::hypot(u_high, u_low), aslant * kDepthShareU * depth_mm),
                   std::hypot(kLinePx / px_per_mm * far / length / std::sqrt(12.0),
                              kBowMm * far * far * 1e-4));
    equations.add(1.0, 0.0, mid, u);
  }
  const Eigen::Vector2d best = equations.solution();
  const double half = 0.5 * (zero + per_mm * best[1]);
  const double u_strips = std::hypot(
      equations.middle_per(1.0, 0.5 * per_mm, u_high_rim) * strip_u_mm(beside.high, px_per_mm),
      equations.middle_per(1.0, -0.5 * per_mm, u_low_rim) * strip_u_mm(beside.low, px_per_mm));
  return {.high_shift_mm = best[0] + half - high,
          .low_shift_mm = best[0] - half - low,
          .u_mid_mm = equations.disagreement() * std::sqrt(equations.covariance()(0, 0)),
          .u_strip_mm = u_strips};
}

}  // namespace evenbevel::edge
