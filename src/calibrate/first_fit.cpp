#include <algorithm>
#include <array>
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

}  // namespace

void fit_first(Work& work, std::span<const Eigen::Matrix3d> homographies) {
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

}  // namespace evenbevel::calibrate_detail
