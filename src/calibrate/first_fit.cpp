#include <algorithm>
#include <optional>
#include <utility>

#include "calibrate/start.hpp"
#include "calibrate/work.hpp"

namespace evenbevel::calibrate_detail {

namespace {

Point<Card> mean_point(const AdjustView& view) {
  Eigen::Vector3d sum = Eigen::Vector3d::Zero();
  for (const Point<Card>& p : view.points) sum += p.mm;
  return {sum / static_cast<double>(view.points.size())};
}

/// The better of the two poses that a nearly flat perspective allows, under the camera as it is.
void settle_pose(const CameraModel& camera, AdjustView& view) {
  const auto fitted = [&camera, &view](const Transform<Camera, Card>& start) {
    Adjustment alone;
    alone.camera = camera;
    alone.views = {view};
    alone.views[0].T_camera_card = start;
    adjust(alone, 20);
    return std::pair(view_median_px(alone, alone.views[0]), alone.views[0].T_camera_card);
  };
  const Transform<Camera, Card> start = view.T_camera_card;
  const auto straight = fitted(start);
  const auto mirrored = fitted(calibrate_detail::mirrored_pose(start, mean_point(view)));
  view.T_camera_card = mirrored.first < 0.7 * straight.first ? mirrored.second : straight.second;
}

CameraModel start_camera(const LensModel& lens, cv::Size image_size, double focal_px) {
  CameraModel camera;
  camera.width_px = image_size.width;
  camera.height_px = image_size.height;
  camera.focal_px.setConstant(focal_px);
  camera.centre_px = {0.5 * (image_size.width - 1), 0.5 * (image_size.height - 1)};
  camera.lens = Lens(lens);
  return camera;
}

/// As the board would look without what the lens bends; as it looks where that leaves too little.
Eigen::Matrix3d straight_homography(const CameraModel& camera, const AdjustView& view,
                                    const Eigen::Matrix3d& homography) {
  if (camera.lens.model().straight_without_coefficients()) return homography;
  const CalibrationView straight = straightened(camera, view.points, view.points_px);
  return board_homography(straight).value_or(homography);
}

/// From a focal length to a robust fit; how well it fits tells which focal length to start from.
Adjustment started(const Work& work, std::span<const Eigen::Matrix3d> homographies,
                   double focal_px) {
  Adjustment result = work.adjustment;
  result.camera = start_camera(*work.settings.lens, work.image_size, focal_px);
  for (std::size_t v = 0; v < result.views.size(); ++v) {
    AdjustView& view = result.views[v];
    const Eigen::Matrix3d H = straight_homography(result.camera, view, homographies[v]);
    view.T_camera_card = pose_from_homography(H, focal_px, result.camera.centre_px);
    settle_pose(result.camera, view);
  }
  // Few parameters first: the higher coefficients run wild while the poses are still rough.
  const auto wanted = result.free;
  std::fill(result.free.begin() + kCoefficientsAt + 1, result.free.end(), false);
  adjust_robustly(result);
  result.free = wanted;
  for (AdjustView& view : result.views) settle_pose(result.camera, view);
  adjust_robustly(result);
  return result;
}

std::vector<double> focal_starts_px(const Work& work,
                                    std::span<const Eigen::Matrix3d> homographies) {
  if (work.settings.lens->straight_without_coefficients()) {
    const std::optional<double> estimate = focal_length_px(homographies, work.image_size);
    if (estimate) return {*estimate};
  }
  const double longest = std::max(work.image_size.width, work.image_size.height);
  std::vector<double> starts;
  for (const double share : work.settings.lens->focal_starts()) starts.push_back(share * longest);
  return starts;
}

}  // namespace

void fit_first(Work& work, std::span<const Eigen::Matrix3d> homographies) {
  std::optional<Adjustment> best;
  double best_px = 0.0;
  for (const double focal_px : focal_starts_px(work, homographies)) {
    Adjustment tried = started(work, homographies, focal_px);
    const double noise_px = robust_noise_px(tried);
    if (!best || noise_px < best_px) {
      best = std::move(tried);
      best_px = noise_px;
    }
  }
  work.adjustment = std::move(*best);
}

}  // namespace evenbevel::calibrate_detail
