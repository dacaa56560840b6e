#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include <Eigen/Eigenvalues>

#include "bend.hpp"
#include "evenbevel/card.hpp"
#include "evenbevel/error.hpp"
#include "fit/dense.hpp"
#include "plane_pose.hpp"
#include "pose_fit.hpp"
#include "units/fixed.hpp"

namespace evenbevel {

std::string card_name(CardKind kind) { return "the " + std::string(name(kind)) + " card"; }

namespace {

using Pose = Transform<Camera, Card>;
using Matrix6 = Eigen::Matrix<double, 6, 6>;

constexpr std::size_t kLeastCorners = 8;
constexpr double kLeastSpread_cells = 0.4;  // two rows of corners give 0.5, one row 0
constexpr double kStray = 4.5;              // standard deviations: 1 in 25 000 of normal misses
constexpr double kLeastStray_px = 0.02;
constexpr double kMostRejected = 0.3;  // share of the corners

// Smallest standard deviation of the corners' places on the card, over all directions.
double spread_mm(const std::vector<CardSighting>& sightings) {
  Eigen::Vector2d mean = Eigen::Vector2d::Zero();
  for (const CardSighting& sighting : sightings) mean += sighting.p_card.mm.head<2>();
  mean /= static_cast<double>(sightings.size());
  Eigen::Matrix2d scatter = Eigen::Matrix2d::Zero();
  for (const CardSighting& sighting : sightings) {
    const Eigen::Vector2d off = sighting.p_card.mm.head<2>() - mean;
    scatter += off * off.transpose() / static_cast<double>(sightings.size());
  }
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix2d> eigen(scatter, Eigen::EigenvaluesOnly);
  return std::sqrt(std::max(0.0, eigen.eigenvalues()(0)));
}

// A guessed camera has no distortion: its corners miss by what the lens bends.
double most_rms_px(const CameraModel& camera, double spacing_px) {
  return camera.guessed ? std::max(4.0, 0.10 * spacing_px) : std::max(1.0, 0.015 * spacing_px);
}

std::vector<CardSighting> within(const CameraModel& camera, const Pose& T,
                                 const std::vector<CardSighting>& sightings, double limit_px) {
  const Eigen::Matrix2Xd misses = misses_px(camera, T, sightings);
  std::vector<CardSighting> kept;
  for (std::size_t i = 0; i < sightings.size(); ++i) {
    if (misses.col(static_cast<Eigen::Index>(i)).norm() <= limit_px) kept.push_back(sightings[i]);
  }
  return kept;
}

struct Fit {
  Pose T;
  std::vector<CardSighting> used;
};

// Least squares of all but the strays, twice: the scatter is known better the second time.
Fit fit_without_strays(const CameraModel& camera, const std::vector<CardSighting>& sightings,
                       const Pose& T_robust) {
  Fit fit{T_robust, sightings};
  for (int round = 0; round < 2; ++round) {
    const double scatter = scatter_px(misses_px(camera, fit.T, sightings));
    fit.used = within(camera, fit.T, sightings, std::max(kStray * scatter, kLeastStray_px));
    if (fit.used.size() < kLeastCorners) break;
    fit.T = refine_plane_pose(camera, fit.used, false, fit.T);
  }
  return fit;
}

void require_fit(const FoundCard& card, const CameraModel& camera, const CardPose& pose) {
  const double allowed_px = most_rms_px(camera, card.spacing_px);
  const bool scattered = pose.rejected > kMostRejected * (pose.corners + pose.rejected);
  if (!scattered && pose.rms_px <= allowed_px) return;
  throw Error("the corners of " + card_name(card.kind) + " do not lie in one plane: rms " +
                  fixed(pose.rms_px, 2) + " px, " + fixed(allowed_px, 2) + " px is allowed, and " +
                  std::to_string(pose.rejected) + " of " +
                  std::to_string(pose.corners + pose.rejected) + " are out of line",
              "lay the card flat, hold the camera still, give the card's bar as measured both ways "
              "(--printed-bar), and check that the camera file is this camera's");
}

struct Sensitivity {
  Matrix6 A = Matrix6::Zero();  // J^T J of the pose
  Eigen::MatrixXd to_inputs;
};

Sensitivity sensitivity(const CameraModel& camera, const Fit& fit) {
  const SheetInputs inputs{parameter_count(camera)};
  Sensitivity sums;
  sums.to_inputs.setZero(6, inputs.count());
  Eigen::Matrix2Xd d_inputs(2, inputs.count());
  for (const CardSighting& sighting : fit.used) {
    Eigen::Matrix<double, 2, 3> d_point;
    LensJacobian d_camera;
    project(camera, fit.T * sighting.p_card, &d_point, &d_camera);
    const PoseJacobian J_pose = pose_jacobian(fit.T, sighting.p_card, d_point);
    const Eigen::Matrix<double, 2, 3> d_card = d_point * fit.T.matrix.linear();
    const Eigen::Vector3d& p = sighting.p_card.mm;
    d_inputs << d_camera, 0.5 * (d_card.col(0) * p.x() - d_card.col(1) * p.y()),
        d_card.col(2) * bend_terms(p);
    sums.A += J_pose.transpose() * J_pose;
    sums.to_inputs += J_pose.transpose() * d_inputs;
  }
  return sums;
}

CardPose summarise(const CameraModel& camera, const Fit& fit, std::size_t all,
                   const InputsMatrix& inputs) {
  CardPose pose;
  pose.T_camera_card = fit.T;
  pose.corners = static_cast<int>(fit.used.size());
  pose.rejected = static_cast<int>(all - fit.used.size());
  const Eigen::Matrix2Xd misses = misses_px(camera, fit.T, fit.used);
  const double sum_px2 = misses.squaredNorm();
  pose.rms_px = std::sqrt(sum_px2 / pose.corners);
  pose.worst_px = misses.colwise().norm().maxCoeff();
  const Sensitivity sums = sensitivity(camera, fit);
  const Matrix6 inverse = SymmetricSystem(sums.A).inverse();
  pose.covariance_corners = sum_px2 / (2.0 * pose.corners - 6.0) * inverse;
  const Eigen::MatrixXd by_inputs = -inverse * sums.to_inputs;
  pose.covariance_camera = by_inputs * inputs * by_inputs.transpose();
  return pose;
}

/// Corners whose places lie in the picture, far enough from its border to be found.
int corners_in_picture(const FoundCard& card, const CameraModel& camera, const PrintScale& scale,
                       const CardPose& pose) {
  const double margin_px = 0.6 * card.spacing_px;
  const double width = camera.width_px, height = camera.height_px;
  int count = 0;
  for (const Eigen::Vector2d& nominal_mm : card_layout(card.kind).corners_mm) {
    const Point<Camera> p_camera =
        pose.T_camera_card *
        Point<Card>{{nominal_mm.x() * scale.along, nominal_mm.y() * scale.across, 0.0}};
    if (p_camera.mm.z() <= 0.0) continue;
    const Eigen::Vector2d q_px = project(camera, p_camera);
    const bool inside = q_px.x() > margin_px && q_px.x() < width - margin_px &&
                        q_px.y() > margin_px && q_px.y() < height - margin_px;
    if (inside) ++count;
  }
  return count;
}

}  // namespace

std::vector<CardSighting> sightings_of(const FoundCard& card, const PrintScale& scale) {
  const CardLayout& layout = card_layout(card.kind);
  std::vector<CardSighting> sightings;
  for (const CardCorner& corner : card.corners) {
    const Eigen::Vector2d& nominal_mm = layout.corners_mm[static_cast<std::size_t>(corner.index)];
    sightings.push_back(
        {{{nominal_mm.x() * scale.along, nominal_mm.y() * scale.across, 0.0}}, corner.q_px});
  }
  return sightings;
}

void require_enough(CardKind kind, const std::vector<CardSighting>& sightings) {
  if (sightings.size() < kLeastCorners) {
    throw Error(card_name(kind) + " shows " + std::to_string(sightings.size()) + " corners, " +
                    std::to_string(kLeastCorners) + " are needed for its pose",
                "bring more of the card into view, uncovered and in focus");
  }
  const double least_mm = kLeastSpread_cells * card_layout(kind).pitch_mm;
  const double seen_mm = spread_mm(sightings);
  if (seen_mm < least_mm) {
    throw Error("the " + std::to_string(sightings.size()) + " corners seen of " + card_name(kind) +
                    " lie nearly in one line (spread across it " + length_words(seen_mm, 1) + ", " +
                    length_words(least_mm, 1) + " is needed)",
                "bring more rows of the card's pattern into view");
  }
}

CardPose pose_without_strays(const FoundCard& card, const CameraModel& camera,
                             const std::vector<CardSighting>& sightings, const Pose& T_robust,
                             const std::optional<InputsMatrix>& inputs) {
  const Fit fit = fit_without_strays(camera, sightings, T_robust);
  require_enough(card.kind, fit.used);
  const SheetInputs of{parameter_count(camera)};
  InputsMatrix known = InputsMatrix::Zero(of.count(), of.count());
  known.topLeftCorner(of.lens, of.lens) = covariance_or_typical(camera);
  CardPose pose = summarise(camera, fit, sightings.size(), inputs.value_or(known));
  require_fit(card, camera, pose);
  return pose;
}

void require_uncovered(const FoundCard& card, const CameraModel& camera, const PrintScale& scale,
                       const CardPose& pose) {
  constexpr double kLeastShare = 0.6;
  constexpr double kSoft_px = 2.5;
  const int expected = corners_in_picture(card, camera, scale, pose);
  const int needed = static_cast<int>(std::ceil(kLeastShare * expected));
  const auto found = static_cast<int>(card.corners.size());
  if (found >= needed) return;
  const std::string counts = std::to_string(found) + " corners of " + std::to_string(expected) +
                             " in the picture were found, " + std::to_string(needed) +
                             " are needed";
  if (card.softness_px > kSoft_px) {
    throw Error("the photo is blurred: the borders of " + card_name(card.kind) + " are " +
                    fixed(card.softness_px, 1) + " px soft; " + counts,
                "hold the phone steady or rest it on something, tap on the edge to focus, give it "
                "more light, and take the photo again");
  }
  throw Error(card_name(card.kind) + " is half hidden: " + counts,
              "take away what lies on the card, and glare and shadows from it, then take the photo "
              "again");
}

CardPose fit_card_pose(const FoundCard& card, const CameraModel& camera, const PrintScale& scale) {
  const std::vector<CardSighting> sightings = sightings_of(card, scale);
  require_enough(card.kind, sightings);
  const Pose T_robust = fit_plane_pose(camera, sightings, true);
  const Bend bend = measure_bend(camera, sightings, T_robust);
  require_flat(card.kind, bend, sightings.size());
  CardPose pose = pose_without_strays(card, camera, sightings, T_robust, std::nullopt);
  pose.bend_mm = bend.height_mm;
  pose.bend_u_mm = bend.u_mm;
  return pose;
}

}  // namespace evenbevel
