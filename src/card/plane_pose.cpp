#include "plane_pose.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

#include <Eigen/Core>
#include <Eigen/Geometry>
#include <opencv2/calib3d.hpp>
#include <opencv2/core/eigen.hpp>

#include "evenbevel/error.hpp"
#include "fit/dense.hpp"
#include "fit/descent.hpp"

namespace evenbevel {
namespace {

using Pose = Transform<Camera, Card>;

constexpr double kHuber = 1.5;  // robust standard deviations
constexpr double kLeastScatter_px = 1e-9;

// Both ways a plane can be seen like this, without the lens's distortion.
std::vector<Pose> starts(const CameraModel& camera, const std::vector<CardSighting>& sightings) {
  std::vector<cv::Point3d> on_card;
  std::vector<cv::Point2d> seen;
  for (const CardSighting& sighting : sightings) {
    const Eigen::Vector3d& p = sighting.p_card.mm;
    const Eigen::Vector3d direction = ray(camera, sighting.q_px);
    on_card.emplace_back(p.x(), p.y(), p.z());
    seen.emplace_back(direction.x(), direction.y());
  }
  std::vector<cv::Mat> rvecs, tvecs;
  cv::solvePnPGeneric(on_card, seen, cv::Mat::eye(3, 3, CV_64F), cv::noArray(), rvecs, tvecs, false,
                      cv::SOLVEPNP_IPPE);
  std::vector<Pose> poses;
  for (std::size_t i = 0; i < rvecs.size(); ++i) {
    cv::Mat rotation;
    cv::Rodrigues(rvecs[i], rotation);
    Eigen::Matrix3d R_camera_card;
    Eigen::Vector3d t_camera_card;
    cv::cv2eigen(rotation, R_camera_card);
    cv::cv2eigen(tvecs[i], t_camera_card);
    Pose pose;
    pose.matrix.linear() = R_camera_card;
    pose.matrix.translation() = t_camera_card;
    if (pose.matrix.matrix().allFinite() && in_front(pose, sightings)) poses.push_back(pose);
  }
  return poses;
}

double huber_cost(double miss, double limit) {
  return miss <= limit ? miss * miss : limit * (2.0 * miss - limit);
}

// Huber's function of the misses' lengths; plain squares for an infinite limit.
double cost(const Eigen::Matrix2Xd& misses, double limit_px) {
  double sum = 0.0;
  for (Eigen::Index i = 0; i < misses.cols(); ++i) {
    sum += huber_cost(misses.col(i).norm(), limit_px);
  }
  return sum;
}

struct NormalEquations {
  Eigen::Matrix<double, 6, 6> A = Eigen::Matrix<double, 6, 6>::Zero();
  Eigen::Matrix<double, 6, 1> b = Eigen::Matrix<double, 6, 1>::Zero();
};

NormalEquations linearised(const CameraModel& camera, const Pose& T,
                           const std::vector<CardSighting>& sightings, double limit_px) {
  NormalEquations equations;
  for (const CardSighting& sighting : sightings) {
    Eigen::Matrix<double, 2, 3> d_point;
    const Eigen::Vector2d miss =
        sighting.q_px - project(camera, T * sighting.p_card, &d_point, nullptr);
    const PoseJacobian J_pose = pose_jacobian(T, sighting.p_card, d_point);
    const double weight = std::min(1.0, limit_px / std::max(miss.norm(), kLeastScatter_px));
    equations.A += weight * J_pose.transpose() * J_pose;
    equations.b += weight * J_pose.transpose() * miss;
  }
  return equations;
}

// Levenberg-Marquardt with Marquardt's scaling, at a fixed limit of Huber's function.
Pose minimise(const CameraModel& camera, const std::vector<CardSighting>& sightings, Pose T,
              double limit_px) {
  double best = cost(misses_px(camera, T, sightings), limit_px);
  NormalEquations equations;
  const auto linearise = [&](int) { equations = linearised(camera, T, sightings, limit_px); };
  const auto attempt = [&](double damping) {
    Eigen::Matrix<double, 6, 6> A = equations.A;
    A.diagonal() *= 1.0 + damping;
    const PoseStep move = solved(A, equations.b);
    const Pose candidate = stepped(T, move);
    const double now = in_front(candidate, sightings)
                           ? cost(misses_px(camera, candidate, sightings), limit_px)
                           : std::numeric_limits<double>::infinity();
    if (!(now <= best)) return Tried::left;
    const bool settled = best - now <= 1e-14 * best || move.norm() < 1e-13;
    T = candidate;
    best = now;
    return settled ? Tried::settled : Tried::taken;
  };
  descend({.start = 1e-4, .eased = 0.1, .stiffened = 10.0, .most = 1e9, .steps = 60}, linearise,
          attempt);
  return T;
}

}  // namespace

PoseJacobian pose_jacobian(const Transform<Camera, Card>& T_camera_card, const Point<Card>& p_card,
                           const Eigen::Matrix<double, 2, 3>& d_point) {
  return d_point * point_by_step(T_camera_card, p_card);
}

bool in_front(const Transform<Camera, Card>& T_camera_card,
              const std::vector<CardSighting>& sightings) {
  return std::all_of(sightings.begin(), sightings.end(), [&](const CardSighting& sighting) {
    return (T_camera_card * sighting.p_card).mm.z() > 1.0;
  });
}

Eigen::Matrix2Xd misses_px(const CameraModel& camera, const Transform<Camera, Card>& T_camera_card,
                           const std::vector<CardSighting>& sightings) {
  Eigen::Matrix2Xd misses(2, static_cast<Eigen::Index>(sightings.size()));
  for (std::size_t i = 0; i < sightings.size(); ++i) {
    misses.col(static_cast<Eigen::Index>(i)) =
        sightings[i].q_px - project(camera, T_camera_card * sightings[i].p_card);
  }
  return misses;
}

double scatter_px(const Eigen::Matrix2Xd& misses_px) {
  // Length of a two-dimensional normal miss: its median is sqrt(2 ln 2) standard deviations.
  std::vector<double> lengths;
  for (Eigen::Index i = 0; i < misses_px.cols(); ++i) lengths.push_back(misses_px.col(i).norm());
  const auto middle = lengths.begin() + static_cast<std::ptrdiff_t>(lengths.size() / 2);
  std::nth_element(lengths.begin(), middle, lengths.end());
  return *middle / std::sqrt(2.0 * std::log(2.0));
}

Transform<Camera, Card> refine_plane_pose(const CameraModel& camera,
                                          const std::vector<CardSighting>& sightings, bool robust,
                                          const Transform<Camera, Card>& T_start) {
  if (!robust) {
    return minimise(camera, sightings, T_start, std::numeric_limits<double>::infinity());
  }
  constexpr int kRounds = 4;  // the scatter settles within two or three
  Pose T = T_start;
  for (int round = 0; round < kRounds; ++round) {
    const double scatter = scatter_px(misses_px(camera, T, sightings));
    T = minimise(camera, sightings, T, kHuber * std::max(scatter, kLeastScatter_px));
  }
  return T;
}

Transform<Camera, Card> fit_plane_pose(const CameraModel& camera,
                                       const std::vector<CardSighting>& sightings, bool robust) {
  std::optional<Pose> best;
  double least = std::numeric_limits<double>::infinity();
  for (const Pose& start : starts(camera, sightings)) {
    const Pose T = refine_plane_pose(camera, sightings, robust, start);
    const double scatter = misses_px(camera, T, sightings).colwise().norm().sum();
    if (scatter < least) {
      least = scatter;
      best = T;
    }
  }
  if (!best) {
    throw Error("the " + std::to_string(sightings.size()) +
                    " corners found do not fit a flat card in front of the camera",
                "lay the card flat, check that the camera file is this camera's, and take the "
                "photo again");
  }
  return *best;
}

}  // namespace evenbevel
