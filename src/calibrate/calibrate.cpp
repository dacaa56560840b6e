#include "evenbevel/calibrate.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <utility>

#include <Eigen/Core>

#include "calibrate/start.hpp"
#include "calibrate/work.hpp"
#include "evenbevel/error.hpp"
#include "fit/dense.hpp"

namespace evenbevel {

namespace {

using calibrate_detail::Adjustment;
using calibrate_detail::AdjustView;
using calibrate_detail::one_decimal;
using calibrate_detail::used_corners;
using calibrate_detail::Work;

void use_all_corners(Adjustment& adjustment) {
  for (AdjustView& view : adjustment.views) view.weights.assign(view.points_px.size(), 1.0);
}

struct Counts {
  int corners = 0;
  int unknowns = 0;
};

Counts counts(const Adjustment& adjustment) {
  Counts result;
  for (const AdjustView& view : adjustment.views) result.corners += used_corners(view);
  const auto end = adjustment.free.begin() + parameter_count(adjustment.camera);
  result.unknowns = static_cast<int>(std::count(adjustment.free.begin(), end, true)) +
                    6 * static_cast<int>(adjustment.views.size());
  return result;
}

double sum_of_squares_px2(const Adjustment& adjustment) {
  double sum = 0.0;
  for (const AdjustView& view : adjustment.views) {
    const std::vector<Eigen::Vector2d> residuals = residuals_px(adjustment.camera, view);
    for (std::size_t i = 0; i < residuals.size(); ++i) {
      if (view.weights[i] > 0.0) sum += residuals[i].squaredNorm();
    }
  }
  return sum;
}

double noise_px(const Adjustment& adjustment) {
  const Counts n = counts(adjustment);
  return std::sqrt(sum_of_squares_px2(adjustment) / std::max(1, 2 * n.corners - n.unknowns));
}

/// A parameter of the camera that is held softly at 0, and its standard deviation among lenses.
struct SoftParameter {
  int index;
  double spread;
};

std::vector<SoftParameter> soft_parameters(const CameraModel& camera) {
  const Eigen::Vector2d size(camera.width_px, camera.height_px);
  const double r2 = camera.centre_px.cwiseMax(size - camera.centre_px)
                        .cwiseQuotient(camera.focal_px)
                        .squaredNorm();
  std::vector<SoftParameter> soft;
  int index = kCoefficientsAt;
  for (const LensCoefficient& coefficient : camera.lens.model().coefficients()) {
    if (coefficient.usual_share > 0.0) {
      soft.push_back({index, coefficient.usual_share / std::pow(r2, 0.5 * coefficient.power)});
    }
    ++index;
  }
  return soft;
}

void set_pull(Adjustment& adjustment, double sigma_px) {
  for (const SoftParameter& soft : soft_parameters(adjustment.camera)) {
    adjustment.pull_to_zero[static_cast<std::size_t>(soft.index)] =
        std::pow(sigma_px / soft.spread, 2);
  }
}

/// The last fit: plain least squares on the corners in use.
void fit_finally(Work& work) {
  constexpr int kRounds = 3;  // the noise sets the pull, the pull hardly moves the noise
  for (int round = 0; round < kRounds; ++round) {
    if (work.settings.soft_distortion) {
      set_pull(work.adjustment,
               round == 0 ? robust_noise_px(work.adjustment) : noise_px(work.adjustment));
    }
    if (!adjust(work.adjustment, 100)) {
      throw Error("no camera fits the corners of the photos",
                  "check that all photos were taken with the same camera, lens, zoom and focus, "
                  "and that the card was glued or taped flat");
    }
  }
}

/// Inverse of the free block.
LensMatrix covariance_of(const Adjustment& adjustment, double sigma_px) {
  const LensMatrix N = reduced_normal_matrix(adjustment);
  std::vector<int> free;
  for (int k = 0; k < N.cols(); ++k) {
    if (adjustment.is_free(k)) free.push_back(k);
  }
  const auto n = static_cast<Eigen::Index>(free.size());
  const Eigen::MatrixXd inverse = SymmetricSystem(Eigen::MatrixXd(N)(free, free)).inverse();
  LensMatrix covariance = LensMatrix::Zero(N.rows(), N.cols());
  for (Eigen::Index i = 0; i < n; ++i) {
    for (Eigen::Index j = 0; j < n; ++j) {
      covariance(free[static_cast<std::size_t>(i)], free[static_cast<std::size_t>(j)]) =
          0.5 * sigma_px * sigma_px * (inverse(i, j) + inverse(j, i));
    }
  }
  return covariance;
}

void require_focal_length_held(const CameraModel& camera) {
  constexpr double kMostShare = 0.03;
  const LensMatrix& C = *camera.covariance;
  const double share =
      std::sqrt(C.diagonal().segment<2>(kFocalAt).maxCoeff()) / camera.focal_px.x();
  if (C.allFinite() && share < kMostShare) return;
  throw Error("the photos hold the focal length to " + one_decimal(100.0 * share) + " % only, " +
                  one_decimal(100.0 * kMostShare) + " % is needed",
              "tilt the card or the camera more, 20 to 45 degrees, in different directions");
}

double projection_u_px(const CameraModel& camera, const Eigen::Vector2d& q_px) {
  Eigen::Vector3d p;
  try {
    p = ray(camera, q_px);
  } catch (const Error&) {  // beyond the turning point of the distortion
    p = on_unbent_plane(camera, q_px).homogeneous();
  }
  LensJacobian J;
  project(camera, Point<Camera>{p}, nullptr, &J);
  const Eigen::Matrix2d C = J * *camera.covariance * J.transpose();
  return std::sqrt(std::max({0.0, C(0, 0), C(1, 1)}));
}

CalibratedView calibrated(const CameraModel& camera, const std::string& name,
                          const AdjustView& view) {
  CalibratedView result;
  result.name = name;
  result.T_camera_card = view.T_camera_card;
  const std::vector<Eigen::Vector2d> residuals = residuals_px(camera, view);
  Eigen::Vector3d centre = Eigen::Vector3d::Zero();
  double sum = 0.0;
  for (std::size_t i = 0; i < residuals.size(); ++i) {
    if (view.weights[i] <= 0.0) continue;
    result.points_px.push_back(view.points_px[i]);
    result.residuals_px.push_back(residuals[i]);
    centre += (view.T_camera_card * view.points[i]).mm;
    sum += residuals[i].squaredNorm();
  }
  const auto n = static_cast<double>(result.points_px.size());
  centre /= n;
  result.rms_px = std::sqrt(sum / n);
  result.distance_mm = centre.z();
  const double cosine =
      std::abs(view.T_camera_card.matrix.linear().col(2).dot(centre.normalized()));
  result.tilt_rad = std::acos(std::min(1.0, cosine));
  return result;
}

double worst_unused_px(const CameraModel& camera, const AdjustView& view) {
  double worst = 0.0;
  const std::vector<Eigen::Vector2d> residuals = residuals_px(camera, view);
  for (std::size_t i = 0; i < residuals.size(); ++i) {
    if (view.weights[i] <= 0.0) worst = std::max(worst, residuals[i].norm());
  }
  return worst;
}

void describe_views(const Work& work, CalibrationResult& result) {
  CameraModel& camera = result.camera;
  for (std::size_t v = 0; v < work.names.size(); ++v) {
    const AdjustView& view = work.adjustment.views[v];
    CalibratedView seen = calibrated(camera, work.names[v], view);
    const auto used = static_cast<int>(seen.points_px.size());
    const int stray = static_cast<int>(view.points_px.size()) - used;
    if (stray > 0) {
      result.left_out.push_back(
          {seen.name, stray,
           "miss by up to " + one_decimal(worst_unused_px(camera, view)) + " px"});
    }
    camera.photos.push_back({seen.name, used, seen.rms_px});
    camera.nearest_mm = std::min(camera.nearest_mm.value_or(seen.distance_mm), seen.distance_mm);
    camera.farthest_mm = std::max(camera.farthest_mm.value_or(seen.distance_mm), seen.distance_mm);
    add_coverage(result.coverage, seen.points_px, work.image_size);
    result.views.push_back(std::move(seen));
  }
}

/// Good photos of a flat card leave 0.1 to 0.3 px; common practice, no source.
void note_large_residuals(CalibrationResult& result) {
  constexpr double kLarge_px = 0.5;
  const double rms_px = result.camera.rms_px.value_or(0.0);
  if (rms_px < kLarge_px) return;
  result.notes.push_back(remark<RemarkCode::large_residuals>(rms_px));
}

void note_what_was_held(const Work& work, CalibrationResult& result) {
  if (!work.settings.soft_distortion) return;
  for (const auto& [index, spread] : soft_parameters(result.camera)) {
    if (!work.adjustment.is_free(index)) continue;
    if ((*result.camera.covariance)(index, index) < 0.25 * spread * spread) continue;
    result.notes.push_back(
        remark<RemarkCode::distortion_held>(parameter_name(result.camera, index)));
  }
}

CalibrationResult finished(const Work& work) {
  CalibrationResult result;
  result.left_out = work.left_out;
  result.camera = work.adjustment.camera;
  result.noise_px = noise_px(work.adjustment);
  result.camera.covariance = covariance_of(work.adjustment, result.noise_px);
  result.camera.rms_px =
      std::sqrt(sum_of_squares_px2(work.adjustment) / std::max(1, counts(work.adjustment).corners));
  if (work.adjustment.is_free(kFocalAt)) require_focal_length_held(result.camera);
  describe_views(work, result);
  const double right = work.image_size.width - 1;
  const double bottom = work.image_size.height - 1;
  result.u_centre_px = projection_u_px(result.camera, {0.5 * right, 0.5 * bottom});
  result.u_corners_px = {projection_u_px(result.camera, {0.0, 0.0}),
                         projection_u_px(result.camera, {right, 0.0}),
                         projection_u_px(result.camera, {0.0, bottom}),
                         projection_u_px(result.camera, {right, bottom})};
  note_large_residuals(result);
  note_what_was_held(work, result);
  result.advice = calibration_advice(result);
  return result;
}

AdjustView adjust_view(const CalibrationView& view) {
  AdjustView result;
  for (const Eigen::Vector2d& p_mm : view.points_mm) {
    result.points.push_back({{p_mm.x(), p_mm.y(), 0.0}});
  }
  result.points_px = view.points_px;
  result.weights.assign(view.points_px.size(), 1.0);
  return result;
}

/// Takes in the views that can be used and returns their homographies.
std::vector<Eigen::Matrix3d> take_in(Work& work, std::span<const CalibrationView> views) {
  std::vector<Eigen::Matrix3d> homographies;
  for (const CalibrationView& view : views) {
    assert(view.points_mm.size() == view.points_px.size());
    const auto corners = static_cast<int>(view.points_px.size());
    if (corners < work.settings.fewest_corners) {
      work.left_out.push_back({view.name, 0,
                               std::to_string(corners) + " corners, " +
                                   std::to_string(work.settings.fewest_corners) + " are needed"});
      continue;
    }
    const std::optional<Eigen::Matrix3d> H = calibrate_detail::board_homography(view);
    if (!H) {
      work.left_out.push_back({view.name, 0, "its corners lie on one line"});
      continue;
    }
    homographies.push_back(*H);
    work.names.push_back(view.name);
    work.adjustment.views.push_back(adjust_view(view));
  }
  return homographies;
}

}  // namespace

CalibrationResult calibrate(std::span<const CalibrationView> views, cv::Size image_size,
                            const CalibrationSettings& settings, std::vector<LeftOut> left_out) {
  assert(image_size.width > 0 && image_size.height > 0);
  Work work;
  work.settings = settings;
  work.image_size = image_size;
  work.offered = static_cast<int>(views.size() + left_out.size());
  work.left_out = std::move(left_out);
  work.adjustment.free = settings.free;
  const std::vector<Eigen::Matrix3d> homographies = take_in(work, views);
  require_enough_views(work);
  calibrate_detail::fit_first(work, homographies);
  require_different_poses(work.adjustment);
  if (settings.leave_out) {
    leave_out_misfits(work);
    require_different_poses(work.adjustment);
  } else {
    use_all_corners(work.adjustment);
  }
  fit_finally(work);
  return finished(work);
}

}  // namespace evenbevel
