#include "registration.hpp"

#include <algorithm>
#include <cmath>
#include <iomanip>
#include <sstream>

#include <Eigen/Dense>

#include "evenbevel/error.hpp"
#include "uncertainty/neighbours.hpp"

namespace evenbevel::side {
namespace {

constexpr double kSlopeReachMm = 2.0;

Eigen::Vector2d placed(const Eigen::Vector3d& pose, const Eigen::Vector2d& p) {
  const double c = std::cos(pose.z()), s = std::sin(pose.z());
  return {c * p.x() - s * p.y() + pose.x(), s * p.x() + c * p.y() + pose.y()};
}

Curve moved_curve(const Curve& curve, const Eigen::Vector3d& pose) {
  std::vector<Eigen::Vector2d> points;
  for (std::size_t i = 0; i < curve.z_mm.size(); ++i) {
    if (!std::isnan(curve.z_mm[i])) points.push_back(placed(pose, {curve.x(i), curve.z_mm[i]}));
  }
  return resampled(points);
}

/// One distance across the outline, and how it changes with (shift x, shift z, turn).
struct Distance {
  double value = 0.0;
  Eigen::Vector3d change = Eigen::Vector3d::Zero();
};

void add(const Eigen::Vector2d& p, const Eigen::Vector2d& normal, double value,
         std::vector<Distance>& found) {
  const Eigen::Vector2d turned(-p.y(), p.x());
  found.push_back({value, {normal.x(), normal.y(), normal.dot(turned)}});
}

void compare(const Curve& fixed, const Curve& moving, const Eigen::Vector3d& pose,
             std::vector<Distance>& found) {
  for (std::size_t i = 0; i < moving.z_mm.size(); i += 2) {
    if (std::isnan(moving.z_mm[i])) continue;
    const Eigen::Vector2d p = placed(pose, {moving.x(i), moving.z_mm[i]});
    const double z = fixed.at(p.x()), slope = fixed.slope(p.x(), kSlopeReachMm);
    if (std::isnan(z) || std::isnan(slope)) continue;
    const Eigen::Vector2d normal = Eigen::Vector2d(-slope, 1.0).normalized();
    add(p, normal, (p.y() - z) * normal.y(), found);
  }
}

void compare_heels(const FaceReading& left, const FaceReading& right, const Eigen::Vector3d& pose,
                   std::vector<Distance>& found) {
  if (left.heel.size() < 6 || right.heel.size() < 6) return;
  std::vector<Eigen::Vector2d> turned;  // x as a function of z
  for (const Eigen::Vector2d& p : left.heel) turned.emplace_back(p.y(), p.x());
  const Curve heel = resampled(turned);
  for (const Eigen::Vector2d& q : right.heel) {
    const Eigen::Vector2d p = placed(pose, q);
    const double x = heel.at(p.y());
    if (!std::isnan(x)) add(p, {1.0, 0.0}, p.x() - x, found);
  }
}

std::vector<Distance> distances(const FaceReading& left, const FaceReading& right,
                                const Eigen::Vector3d& pose) {
  std::vector<Distance> found;
  compare(left.edge, right.edge, pose, found);
  compare(left.spine, right.spine, pose, found);
  compare_heels(left, right, pose, found);
  return found;
}

double typical(const std::vector<Distance>& found) {
  std::vector<double> sizes;
  for (const Distance& d : found) sizes.push_back(std::abs(d.value));
  return sizes.empty() ? 1e9 : 1.4826 * median(sizes);
}

struct Fit {
  Eigen::Vector3d pose;
  Eigen::Matrix3d covariance = Eigen::Matrix3d::Identity();
  double rms = 1e9, worst = 1e9;
};

Fit fit_from(const FaceReading& left, const FaceReading& right, Eigen::Vector3d pose) {
  constexpr int kRounds = 25;
  constexpr double kTukey = 4.685, kLeastMm = 0.02, kEveryMm = 1.0;
  Fit fit{pose};
  for (int round = 0; round < kRounds; ++round) {
    const std::vector<Distance> found = distances(left, right, pose);
    if (found.size() < 30) return fit;
    const double sigma = std::max(kLeastMm, typical(found));
    Eigen::Matrix3d normal = Eigen::Matrix3d::Zero();
    Eigen::Vector3d right_side = Eigen::Vector3d::Zero();
    double weights = 0.0, squares = 0.0;
    std::vector<double> sizes;
    for (const Distance& d : found) {
      const double share = d.value / (kTukey * sigma);
      const double weight = std::abs(share) < 1.0 ? std::pow(1.0 - share * share, 2) : 0.0;
      normal += weight * d.change * d.change.transpose();
      right_side -= weight * d.value * d.change;
      weights += weight, squares += weight * d.value * d.value;
      sizes.push_back(std::abs(d.value));
    }
    const Eigen::Vector3d step =
        (normal + Eigen::Vector3d(1e-6, 1e-6, 1e-2).asDiagonal().toDenseMatrix())
            .ldlt()
            .solve(right_side);
    pose += step;
    std::sort(sizes.begin(), sizes.end());
    fit.pose = pose;
    fit.rms = std::sqrt(squares / std::max(1.0, weights));
    fit.worst = sizes[sizes.size() * 98 / 100];
    fit.covariance = normal.inverse() * std::pow(std::max(fit.rms, kLeastMm), 2) *
                     counted_as_one(kEveryMm, kOutlinesSharedMm);
    if (step.head<2>().norm() < 1e-4 && std::abs(step.z()) < 1e-6) break;
  }
  return fit;
}

/// How far apart they are everywhere, fit or no fit: the mean of all distances, cut at 5 mm.
double typical_gap(const FaceReading& left, const FaceReading& right, const Fit& fit) {
  double sum = 0.0;
  const std::vector<Distance> found = distances(left, right, fit.pose);
  for (const Distance& d : found) sum += std::min(5.0, std::abs(d.value));
  return found.empty() ? 5.0 : sum / static_cast<double>(found.size());
}

}  // namespace

FaceReading in_frame(const FaceReading& reading, double turn_rad, const Eigen::Vector2d& shift_mm) {
  const Eigen::Vector3d pose(shift_mm.x(), shift_mm.y(), turn_rad);
  FaceReading moved = reading;
  moved.axes = reading.axes.moved(turn_rad, shift_mm);
  moved.edge = moved_curve(reading.edge, pose);
  moved.spine = moved_curve(reading.spine, pose);
  for (Eigen::Vector2d& p : moved.heel) p = placed(pose, p);
  if (moved.tip) moved.tip = placed(pose, *moved.tip);
  const auto place = [&](auto& readings) {
    for (auto& r : readings) {
      const Eigen::Vector2d p = placed(pose, {r.x_mm, r.z_mm});
      r.x_mm = p.x(), r.z_mm = p.y();
    }
  };
  place(moved.bevel), place(moved.plunge);
  if (moved.crease) {
    const Eigen::Vector2d p = placed(pose, {moved.crease->x_mm, moved.crease->z_mm});
    moved.crease->x_mm = p.x(), moved.crease->z_mm = p.y();
    moved.crease->lean_rad -= turn_rad;
  }
  return moved;
}

Registration register_outlines(const FaceReading& left, const FaceReading& right) {
  constexpr double kMostGapMm = 0.35;  // Typical; two shots of one knife stay below 0.1.
  std::vector<double> starts = {0.0};
  if (left.tip && right.tip) starts.push_back(left.tip->x() - right.tip->x());
  Fit best;
  best.pose.setZero();
  for (const double start : starts) {
    const Fit fit = fit_from(left, right, {start, 0.0, 0.0});
    if (fit.rms < 1e8 &&
        (best.rms > 1e8 || typical_gap(left, right, fit) < typical_gap(left, right, best)))
      best = fit;
  }
  const double gap = typical_gap(left, right, best);
  if (gap > kMostGapMm) {
    throw Error("the outlines of the two photos do not fit: laid one over the other they stand " +
                    length_words(gap, 1) + " apart on average, " + length_words(best.worst, 1) +
                    " at the worst; they seem to show two different knives",
                "give photos of the two faces of one knife, in the same state");
  }
  Registration result;
  result.turn_rad = best.pose.z();
  result.shift_mm = best.pose.head<2>();
  const Eigen::Matrix3d& c = best.covariance;
  // The shift along z is best known at the outline's middle.
  result.middle_x_mm = -c(1, 2) / c(2, 2);
  result.fit = {best.rms, best.worst, std::sqrt(c(0, 0)),
                std::sqrt(std::max(0.0, c(1, 1) - c(1, 2) * c(1, 2) / c(2, 2))),
                std::sqrt(c(2, 2))};
  return result;
}

}  // namespace evenbevel::side
