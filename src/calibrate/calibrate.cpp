#include "evenbevel/calibrate.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <iomanip>
#include <sstream>
#include <utility>

#include <Eigen/Cholesky>

#include "calibrate/adjust.hpp"
#include "calibrate/start.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel {

namespace {

using calibrate_detail::Adjustment;
using calibrate_detail::AdjustView;
using calibrate_detail::IntrinsicMatrix;
using calibrate_detail::intrinsics;
using calibrate_detail::IntrinsicVector;
using calibrate_detail::kIntrinsics;

constexpr int kMostSteps = 100;
constexpr double kMedianOfRayleigh = 1.17741;  ///< Median length of a 2-D normal vector, sigma 1.

std::string one_decimal(double value) {
  std::ostringstream text;
  text << std::fixed << std::setprecision(1) << value;
  return text.str();
}

/// A calibration under way: views still in, views already out.
struct Work {
  CalibrationSettings settings;
  cv::Size image_size;
  int offered = 0;
  std::vector<std::string> names;  ///< In step with adjustment.views.
  Adjustment adjustment;
  std::vector<LeftOut> left_out;

  void leave_out(std::size_t view, std::string reason) {
    left_out.push_back({names[view], 0, std::move(reason)});
    names.erase(names.begin() + static_cast<std::ptrdiff_t>(view));
    adjustment.views.erase(adjustment.views.begin() + static_cast<std::ptrdiff_t>(view));
  }
};

std::string reasons(const std::vector<LeftOut>& left_out) {
  constexpr std::size_t kMost = 6;
  std::string text;
  for (std::size_t i = 0; i < std::min(kMost, left_out.size()); ++i) {
    text += (i == 0 ? ": " : "; ") + left_out[i].name + " (" + left_out[i].reason + ")";
  }
  if (left_out.size() > kMost) text += "; and others";
  return text;
}

void require_enough_views(const Work& work) {
  const auto usable = static_cast<int>(work.names.size());
  if (usable >= work.settings.fewest_views) return;
  throw Error("only " + std::to_string(usable) + " of " + std::to_string(work.offered) +
                  " photos can be used for the calibration, " +
                  std::to_string(work.settings.fewest_views) + " are needed" +
                  reasons(work.left_out),
              "take at least " + std::to_string(work.settings.fewest_views) +
                  " (better 12) sharp photos of the card: each part of the picture filled once, "
                  "the card tilted 20 to 45 degrees in different directions");
}

double norm_median(std::vector<double> values) {
  if (values.empty()) return 0.0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

/// Median residual length of the corners in use.
double view_median_px(const Adjustment& adjustment, const AdjustView& view) {
  std::vector<double> lengths;
  const std::vector<Eigen::Vector2d> residuals = residuals_px(adjustment.camera, view);
  for (std::size_t i = 0; i < residuals.size(); ++i) {
    if (view.weights[i] > 0.0) lengths.push_back(residuals[i].norm());
  }
  return norm_median(std::move(lengths));
}

/// Robust standard deviation of one coordinate over all views.
double robust_noise_px(const Adjustment& adjustment) {
  std::vector<double> lengths;
  for (const AdjustView& view : adjustment.views) {
    const std::vector<Eigen::Vector2d> residuals = residuals_px(adjustment.camera, view);
    for (std::size_t i = 0; i < residuals.size(); ++i) {
      if (view.weights[i] > 0.0) lengths.push_back(residuals[i].norm());
    }
  }
  return norm_median(std::move(lengths)) / kMedianOfRayleigh;
}

/// Huber's weights at two robust standard deviations, again and again until the camera rests.
void adjust_robustly(Adjustment& adjustment) {
  constexpr int kRounds = 12;
  constexpr int kStepsPerRound = 8;
  constexpr double kBend = 2.0;
  for (int round = 0; round < kRounds; ++round) {
    const double limit_px = std::max(1e-6, kBend * robust_noise_px(adjustment));
    for (AdjustView& view : adjustment.views) {
      const std::vector<Eigen::Vector2d> residuals = residuals_px(adjustment.camera, view);
      for (std::size_t i = 0; i < residuals.size(); ++i) {
        view.weights[i] = std::min(1.0, limit_px / std::max(1e-12, residuals[i].norm()));
      }
    }
    const IntrinsicVector before = intrinsics(adjustment.camera);
    adjust(adjustment, kStepsPerRound);
    const IntrinsicVector change = intrinsics(adjustment.camera) - before;
    if (round > 1 && change.head<4>().cwiseAbs().maxCoeff() < 1e-3) break;
  }
}

void use_all_corners(Adjustment& adjustment) {
  for (AdjustView& view : adjustment.views) view.weights.assign(view.points_px.size(), 1.0);
}

Eigen::Vector3d mean_point(const AdjustView& view) {
  Eigen::Vector3d sum = Eigen::Vector3d::Zero();
  for (const Eigen::Vector3d& p : view.points_mm) sum += p;
  return sum / static_cast<double>(view.points_mm.size());
}

/// The better of the two poses that a nearly flat perspective allows, under the camera as it is.
void settle_pose(const CameraModel& camera, AdjustView& view) {
  const auto fitted = [&camera, &view](const Eigen::Isometry3d& start) {
    Adjustment alone;
    alone.camera = camera;
    alone.views = {view};
    alone.views[0].T_camera_card = start;
    adjust(alone, 20);
    return std::pair(view_median_px(alone, alone.views[0]), alone.views[0].T_camera_card);
  };
  const Eigen::Isometry3d start = view.T_camera_card;
  const auto straight = fitted(start);
  const auto mirrored = fitted(calibrate_detail::mirrored_pose(start, mean_point(view)));
  view.T_camera_card = mirrored.first < 0.7 * straight.first ? mirrored.second : straight.second;
}

CameraModel start_camera(cv::Size image_size, double focal_px) {
  CameraModel camera;
  camera.width_px = image_size.width;
  camera.height_px = image_size.height;
  camera.fx_px = camera.fy_px = focal_px;
  camera.cx_px = 0.5 * (image_size.width - 1);
  camera.cy_px = 0.5 * (image_size.height - 1);
  return camera;
}

/// From a focal length to a robust fit; how well it fits tells which focal length to start from.
Adjustment started(const Adjustment& views, std::span<const Eigen::Matrix3d> homographies,
                   cv::Size image_size, double focal_px) {
  Adjustment result = views;
  result.camera = start_camera(image_size, focal_px);
  const Eigen::Vector2d centre(result.camera.cx_px, result.camera.cy_px);
  for (std::size_t v = 0; v < result.views.size(); ++v) {
    result.views[v].T_camera_card =
        calibrate_detail::pose_from_homography(homographies[v], focal_px, centre);
    settle_pose(result.camera, result.views[v]);
  }
  // Few intrinsics first: the higher distortion terms run wild while the poses are still rough.
  const std::array<bool, kIntrinsics> wanted = result.free;
  for (const std::size_t k : {5U, 6U, 7U, 8U}) result.free[k] = false;
  adjust_robustly(result);
  result.free = wanted;
  for (AdjustView& view : result.views) settle_pose(result.camera, view);
  adjust_robustly(result);
  return result;
}

/// Largest angle between the card's normals of any two views, in the camera frame.
double spread_of_normals_rad(const Adjustment& adjustment) {
  double smallest_cosine = 1.0;
  for (const AdjustView& a : adjustment.views) {
    for (const AdjustView& b : adjustment.views) {
      smallest_cosine = std::min(
          smallest_cosine, a.T_camera_card.linear().col(2).dot(b.T_camera_card.linear().col(2)));
    }
  }
  return std::acos(std::clamp(smallest_cosine, -1.0, 1.0));
}

void require_different_poses(const Adjustment& adjustment) {
  const double spread_deg = degrees(spread_of_normals_rad(adjustment));
  if (spread_deg >= 3.0) return;
  throw Error("all photos show the card at the same pose: its tilt differs by " +
                  one_decimal(spread_deg) + " degrees only",
              "tilt the card or the camera 20 to 45 degrees between photos, in different "
              "directions; that is what shows the focal length");
}

void start(Work& work, std::span<const Eigen::Matrix3d> homographies) {
  const std::optional<double> estimate =
      calibrate_detail::focal_length_px(homographies, work.image_size);
  const double longest = std::max(work.image_size.width, work.image_size.height);
  std::vector<double> candidates = {0.75 * longest, 1.25 * longest, 2.5 * longest};
  if (estimate) candidates = {*estimate};
  std::optional<Adjustment> best;
  double best_px = 0.0;
  for (const double focal_px : candidates) {
    Adjustment tried = started(work.adjustment, homographies, work.image_size, focal_px);
    const double noise_px = robust_noise_px(tried);
    if (!best || noise_px < best_px) {
      best = std::move(tried);
      best_px = noise_px;
    }
  }
  work.adjustment = std::move(*best);
}

/// Views whose typical corner is much worse than other photos'. One at a time: a bad photo bends
/// the camera and makes good ones look bad.
void leave_out_bad_views(Work& work) {
  constexpr double kTimesTypical = 4.0;
  constexpr double kHarmlessPx = 0.15;
  for (;;) {
    std::vector<double> scores;
    for (const AdjustView& view : work.adjustment.views) {
      scores.push_back(view_median_px(work.adjustment, view));
    }
    const auto worst = std::max_element(scores.begin(), scores.end());
    const double limit_px = std::max(kHarmlessPx, kTimesTypical * norm_median(scores));
    if (*worst <= limit_px) return;
    work.leave_out(static_cast<std::size_t>(worst - scores.begin()),
                   "corners do not fit: " + one_decimal(*worst) + " px");
    require_enough_views(work);
    adjust_robustly(work.adjustment);
  }
}

int used_corners(const AdjustView& view) {
  return static_cast<int>(
      std::count_if(view.weights.begin(), view.weights.end(), [](double w) { return w > 0.0; }));
}

/// Marks the corners to use. True when the choice changed.
bool choose_corners(Adjustment& adjustment, double limit_px) {
  bool changed = false;
  for (AdjustView& view : adjustment.views) {
    const std::vector<Eigen::Vector2d> residuals = residuals_px(adjustment.camera, view);
    for (std::size_t i = 0; i < residuals.size(); ++i) {
      const double weight = residuals[i].norm() <= limit_px ? 1.0 : 0.0;
      changed = changed || weight != view.weights[i];
      view.weights[i] = weight;
    }
  }
  return changed;
}

void leave_out_thin_views(Work& work) {
  for (std::size_t v = work.names.size(); v-- > 0;) {
    const AdjustView& view = work.adjustment.views[v];
    const int used = used_corners(view);
    if (used >= work.settings.fewest_corners && 2 * used >= static_cast<int>(view.weights.size())) {
      continue;
    }
    work.leave_out(v, "only " + std::to_string(used) + " of " +
                          std::to_string(view.weights.size()) + " corners fit the others");
  }
  require_enough_views(work);
}

struct Counts {
  int corners = 0;
  int unknowns = 0;
};

Counts counts(const Adjustment& adjustment) {
  Counts result;
  for (const AdjustView& view : adjustment.views) result.corners += used_corners(view);
  result.unknowns =
      static_cast<int>(std::count(adjustment.free.begin(), adjustment.free.end(), true)) +
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

/// Standard deviations of k2 and k3 among lenses, as far as we ask the photos to prove more: by
/// the share of the picture's half diagonal that they move its farthest corner. Common practice,
/// no source; lenses that need more get it as soon as corners are seen far out.
IntrinsicVector usual_spread(const CameraModel& camera) {
  const double x = std::max(camera.cx_px, camera.width_px - camera.cx_px) / camera.fx_px;
  const double y = std::max(camera.cy_px, camera.height_px - camera.cy_px) / camera.fy_px;
  const double r2 = x * x + y * y;
  IntrinsicVector spread = IntrinsicVector::Zero();
  spread(5) = 0.2 / (r2 * r2);
  spread(8) = 0.1 / (r2 * r2 * r2);
  return spread;
}

void set_pull(Adjustment& adjustment, double sigma_px) {
  const IntrinsicVector spread = usual_spread(adjustment.camera);
  for (const int k : {5, 8}) {
    adjustment.pull_to_zero(k) = std::pow(sigma_px / spread(k), 2);
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
    if (!adjust(work.adjustment, kMostSteps)) {
      throw Error("no camera fits the corners of the photos",
                  "check that all photos were taken with the same camera, lens, zoom and focus, "
                  "and that the card was glued or taped flat");
    }
  }
}

void leave_out_strays(Work& work) {
  constexpr int kRounds = 8;
  constexpr double kSigmas = 4.5;
  constexpr double kHarmlessPx = 0.05;
  for (int round = 0; round < kRounds; ++round) {
    const double limit_px = std::max(kHarmlessPx, kSigmas * robust_noise_px(work.adjustment));
    if (!choose_corners(work.adjustment, limit_px)) break;
    leave_out_thin_views(work);
    adjust(work.adjustment, kMostSteps);
  }
}

/// Inverse of the free block, scaled first since its entries differ by many powers of ten.
IntrinsicMatrix covariance_of(const Adjustment& adjustment, double sigma_px) {
  const IntrinsicMatrix N = reduced_normal_matrix(adjustment);
  std::vector<int> free;
  for (int k = 0; k < kIntrinsics; ++k) {
    if (adjustment.free[static_cast<std::size_t>(k)]) free.push_back(k);
  }
  const auto n = static_cast<Eigen::Index>(free.size());
  Eigen::VectorXd scale(n);
  Eigen::MatrixXd scaled(n, n);
  for (Eigen::Index i = 0; i < n; ++i) {
    const int k = free[static_cast<std::size_t>(i)];
    scale(i) = N(k, k) > 0.0 ? 1.0 / std::sqrt(N(k, k)) : 0.0;
  }
  for (Eigen::Index i = 0; i < n; ++i) {
    for (Eigen::Index j = 0; j < n; ++j) {
      scaled(i, j) = scale(i) * scale(j) *
                     N(free[static_cast<std::size_t>(i)], free[static_cast<std::size_t>(j)]);
    }
  }
  const Eigen::MatrixXd inverse = scaled.ldlt().solve(Eigen::MatrixXd::Identity(n, n));
  IntrinsicMatrix covariance = IntrinsicMatrix::Zero();
  for (Eigen::Index i = 0; i < n; ++i) {
    for (Eigen::Index j = 0; j < n; ++j) {
      covariance(free[static_cast<std::size_t>(i)], free[static_cast<std::size_t>(j)]) =
          0.5 * sigma_px * sigma_px * scale(i) * scale(j) * (inverse(i, j) + inverse(j, i));
    }
  }
  return covariance;
}

void require_focal_length_held(const CameraModel& camera) {
  constexpr double kMostShare = 0.03;
  const IntrinsicMatrix& C = *camera.covariance;
  const double share = std::sqrt(std::max(C(0, 0), C(1, 1))) / camera.fx_px;
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
    p = {(q_px.x() - camera.cx_px) / camera.fx_px, (q_px.y() - camera.cy_px) / camera.fy_px, 1.0};
  }
  Eigen::Matrix<double, 2, kIntrinsics> J;
  project(camera, Point<Camera>{p}, nullptr, &J);
  const Eigen::Matrix2d C = J * *camera.covariance * J.transpose();
  return std::sqrt(std::max({0.0, C(0, 0), C(1, 1)}));
}

CalibratedView calibrated(const CameraModel& camera, const std::string& name,
                          const AdjustView& view) {
  CalibratedView result;
  result.name = name;
  result.T_camera_card.matrix = view.T_camera_card;
  const std::vector<Eigen::Vector2d> residuals = residuals_px(camera, view);
  Eigen::Vector3d centre = Eigen::Vector3d::Zero();
  double sum = 0.0;
  for (std::size_t i = 0; i < residuals.size(); ++i) {
    if (view.weights[i] <= 0.0) continue;
    result.points_px.push_back(view.points_px[i]);
    result.residuals_px.push_back(residuals[i]);
    centre += view.T_camera_card * view.points_mm[i];
    sum += residuals[i].squaredNorm();
  }
  const auto n = static_cast<double>(result.points_px.size());
  centre /= n;
  result.rms_px = std::sqrt(sum / n);
  result.distance_mm = centre.z();
  const double cosine = std::abs(view.T_camera_card.linear().col(2).dot(centre.normalized()));
  result.tilt_rad = std::acos(std::min(1.0, cosine));
  return result;
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
          {seen.name, stray, "more than " + one_decimal(4.5) + " times the usual scatter"});
    }
    camera.photos.push_back({seen.name, used, seen.rms_px});
    camera.nearest_mm = std::min(camera.nearest_mm.value_or(seen.distance_mm), seen.distance_mm);
    camera.farthest_mm = std::max(camera.farthest_mm.value_or(seen.distance_mm), seen.distance_mm);
    add_coverage(result.coverage, seen.points_px, work.image_size);
    result.views.push_back(std::move(seen));
  }
}

void note_what_was_held(const Work& work, CalibrationResult& result) {
  if (!work.settings.soft_distortion) return;
  const IntrinsicVector spread = usual_spread(result.camera);
  for (const auto& [k, label] : {std::pair(5, "k2"), std::pair(8, "k3")}) {
    if (!work.adjustment.free[static_cast<std::size_t>(k)]) continue;
    if ((*result.camera.covariance)(k, k) < 0.25 * spread(k) * spread(k)) continue;
    result.notes.push_back(std::string("The photos cannot hold ") + label +
                           " by themselves; it was held near 0. Photos with the card out in the "
                           "corners of the picture would show it.");
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
  if (work.adjustment.free[0]) require_focal_length_held(result.camera);
  describe_views(work, result);
  const double right = work.image_size.width - 1;
  const double bottom = work.image_size.height - 1;
  result.u_centre_px = projection_u_px(result.camera, {0.5 * right, 0.5 * bottom});
  for (const double x : {0.0, right}) {
    for (const double y : {0.0, bottom}) {
      result.u_corner_px = std::max(result.u_corner_px, projection_u_px(result.camera, {x, y}));
    }
  }
  note_what_was_held(work, result);
  result.advice = calibration_advice(result);
  return result;
}

AdjustView adjust_view(const CalibrationView& view) {
  AdjustView result;
  for (const Eigen::Vector2d& p : view.points_mm) result.points_mm.emplace_back(p.x(), p.y(), 0.0);
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
                            const CalibrationSettings& settings) {
  assert(image_size.width > 0 && image_size.height > 0);
  Work work;
  work.settings = settings;
  work.image_size = image_size;
  work.offered = static_cast<int>(views.size());
  work.adjustment.free = settings.free;
  const std::vector<Eigen::Matrix3d> homographies = take_in(work, views);
  require_enough_views(work);
  start(work, homographies);
  require_different_poses(work.adjustment);
  if (settings.leave_out) {
    leave_out_bad_views(work);
    leave_out_strays(work);
    require_different_poses(work.adjustment);
  } else {
    use_all_corners(work.adjustment);
  }
  fit_finally(work);
  return finished(work);
}

}  // namespace evenbevel
