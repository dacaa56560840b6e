#pragma once

#include <array>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include <Eigen/Core>

#include "evenbevel/frames.hpp"
#include "evenbevel/photo.hpp"

namespace evenbevel {

/// How well one calibration photo fits.
struct CalibrationPhotoResidual {
  std::string name{};
  int corners = 0;
  double rms_px = 0.0;
};

/// Pinhole with Brown-Conrady distortion (k1 k2 p1 p2 k3), OpenCV's convention; stored pixel grid.
struct CameraModel {
  static constexpr int kParameters = 9;  ///< fx fy cx cy k1 k2 p1 p2 k3, in this order everywhere.

  int width_px = 0;
  int height_px = 0;
  double fx_px = 0.0, fy_px = 0.0, cx_px = 0.0, cy_px = 0.0;
  std::array<double, 5> distortion{};  ///< k1 k2 p1 p2 k3.

  /// 9 x 9, in the order above. Empty when the file carries none.
  std::optional<Eigen::Matrix<double, kParameters, kParameters>> covariance{};

  /// No autofocus and no stabilisation, or both switched off: as calibrated, so in every photo.
  bool lens_locked = false;

  bool guessed = false;  ///< From EXIF focal length or a bare assumption, not from a calibration.
  CameraIdentity identity{};
  std::optional<double> nearest_mm{}, farthest_mm{};  ///< Working distance seen in the calibration.
  std::optional<double> rms_px{};                     ///< Of the whole calibration.
  std::vector<CalibrationPhotoResidual> photos{};
  std::string file{};  ///< Where it was read from; empty for a guess.
};

/// Pixel of a point in front of the camera. @pre p_camera.mm.z() > 0.
Eigen::Vector2d project(const CameraModel& camera, const Point<Camera>& p_camera);

/// The same with derivatives; either pointer may be null. Checked against differences in the tests.
Eigen::Vector2d project(const CameraModel& camera, const Point<Camera>& p_camera,
                        Eigen::Matrix<double, 2, 3>* d_point,
                        Eigen::Matrix<double, 2, CameraModel::kParameters>* d_parameters);

/// Ray of a pixel, scaled to z = 1 (Newton on the distortion, to 1e-12).
/// @throws Error  The pixel lies where the distortion cannot be undone.
Eigen::Vector3d ray(const CameraModel& camera, const Eigen::Vector2d& q_px);

/// The camera with its nine parameters changed by so much.
CameraModel moved_lens(const CameraModel& camera,
                       const Eigen::Matrix<double, CameraModel::kParameters, 1>& change);

/// Reads OpenCV's YAML keys (camera_matrix, distortion_coefficients, image_width, image_height)
/// and our own where present. @throws Error  Unreadable, keys missing, not a plausible camera.
CameraModel read_camera_file(const std::filesystem::path& path);

/// Writes to a temporary name and renames. @throws Error  Not writable.
void write_camera_file(const CameraModel& camera, const std::filesystem::path& path);

/// No camera file: focal length from EXIF's 35 mm equivalent (mean of the diagonal and horizontal
/// readings), else from a typical phone; no distortion; a wide covariance.
CameraModel guess_camera(const Photo& photo);

/// The camera's own covariance, or that of a typical calibration when its file carries none.
Eigen::Matrix<double, CameraModel::kParameters, CameraModel::kParameters> covariance_or_typical(
    const CameraModel& camera);

/// What is known of the lens in one photo before it is looked at: the camera's own covariance, and
/// what focusing and stabilisation have moved since the calibration. A lens counts as a phone's
/// unless its camera file says that it is locked: photos lose their EXIF on the way, and many
/// cameras focus anew.
Eigen::Matrix<double, CameraModel::kParameters, CameraModel::kParameters> covariance_in_photo(
    const CameraModel& camera);

/// How far a lens moves from photo to photo, as standard uncertainties. A phone's focusing changes
/// its focal length by 1-3 % between 200 and 450 mm, its stabilisation shifts the principal point
/// by 10-30 px (common practice, no source).
struct LensMotion {
  double focal = 0.0;      ///< Of fx and fy together, relative.
  double centre_px = 0.0;  ///< Of cx and of cy.
};
LensMotion lens_motion(const CameraModel& camera);

/// What tells the photo's camera, lens, resolution, crop or zoom from the camera's, in a few words;
/// empty when nothing does.
std::string camera_difference(const CameraModel& camera, const Photo& photo);

/// @throws Error  The photo was taken with another camera, lens, resolution, crop or zoom than
///                the camera file's; the message describes both.
void require_same_camera(const CameraModel& camera, const Photo& photo);

}  // namespace evenbevel
