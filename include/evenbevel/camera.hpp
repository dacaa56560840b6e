#pragma once

#include <array>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <Eigen/Core>

#include "evenbevel/frames.hpp"
#include "evenbevel/lens.hpp"
#include "evenbevel/photo.hpp"

namespace evenbevel {

/// How well one calibration photo fits.
struct CalibrationPhotoResidual {
  std::string name{};
  int corners = 0;
  double rms_px = 0.0;
};

// A camera's parameters, as vectors have them: focal length along x and y, principal point's x and
// y (px), then the coefficients of its lens model.
constexpr int kFocalAt = 0, kCentreAt = 2, kCoefficientsAt = 4;
constexpr int kMostLensParameters = kCoefficientsAt + kMostLensCoefficients;
inline constexpr std::array<std::string_view, kCoefficientsAt> kSensorParameters = {"fx", "fy",
                                                                                    "cx", "cy"};

using LensVector =
    Eigen::Matrix<double, Eigen::Dynamic, 1, Eigen::ColMajor, kMostLensParameters, 1>;
using LensMatrix = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::ColMajor,
                                 kMostLensParameters, kMostLensParameters>;
/// A pixel by the parameters.
using LensJacobian =
    Eigen::Matrix<double, 2, Eigen::Dynamic, Eigen::ColMajor, 2, kMostLensParameters>;

/// A central camera: its lens bends what a pinhole would show, its sensor measures that in px.
struct CameraModel {
  int width_px = 0;  ///< Stored pixel grid.
  int height_px = 0;
  Eigen::Vector2d focal_px = Eigen::Vector2d::Zero();   ///< Along x, along y.
  Eigen::Vector2d centre_px = Eigen::Vector2d::Zero();  ///< Principal point.
  Lens lens{};

  /// In the order above. Empty when the file carries none.
  std::optional<LensMatrix> covariance{};

  /// No autofocus and no stabilisation, or both switched off: as calibrated, so in every photo.
  bool lens_locked = false;

  bool guessed = false;  ///< From EXIF focal length or a bare assumption, not from a calibration.
  CameraIdentity identity{};
  std::optional<double> nearest_mm{}, farthest_mm{};  ///< Working distance seen in the calibration.
  std::optional<double> rms_px{};                     ///< Of the whole calibration.
  std::vector<CalibrationPhotoResidual> photos{};
  std::string file{};  ///< Where it was read from; empty for a guess.
};

int parameter_count(const CameraModel& camera);
LensVector parameters(const CameraModel& camera);
void set_parameters(CameraModel& camera, const LensVector& values);
std::string parameter_name(const CameraModel& camera, int index);

/// The camera with its parameters changed by so much.
CameraModel moved_lens(const CameraModel& camera, const LensVector& change);

/// Pixel of a point in front of the camera. @pre p_camera.mm.z() > 0.
Eigen::Vector2d project(const CameraModel& camera, const Point<Camera>& p_camera);

/// The same with derivatives; either pointer may be null. Checked against differences in the tests.
Eigen::Vector2d project(const CameraModel& camera, const Point<Camera>& p_camera,
                        Eigen::Matrix<double, 2, 3>* d_point, LensJacobian* d_parameters);

/// Ray of a pixel, scaled to z = 1 (to 1e-12).
/// @throws Error  The pixel lies where the lens model cannot be undone.
Eigen::Vector3d ray(const CameraModel& camera, const Eigen::Vector2d& q_px);

/// Where a pixel would lie on the plane at distance 1 if the lens did not bend anything.
Eigen::Vector2d on_unbent_plane(const CameraModel& camera, const Eigen::Vector2d& q_px);

/// Reads OpenCV's YAML keys (camera_matrix, distortion_coefficients, image_width, image_height)
/// and our own where present. `lens_model` names the lens model; OpenCV's own calibration says
/// `fisheye_model: 1` for a fisheye. A file with neither is of a pinhole. @throws Error Unreadable,
/// keys missing, not a plausible camera.
CameraModel read_camera_file(const std::filesystem::path& path);

/// Writes to a temporary name and renames. @throws Error  Not writable.
void write_camera_file(const CameraModel& camera, const std::filesystem::path& path);

/// No camera file: focal length from EXIF's 35 mm equivalent (mean of the diagonal and horizontal
/// readings), else from a typical phone; no distortion; a wide covariance.
CameraModel guess_camera(const Photo& photo);

/// The camera's own covariance, or that of a typical calibration when its file carries none.
LensMatrix covariance_or_typical(const CameraModel& camera);

/// What is known of the lens in one photo before it is looked at: the camera's own covariance, and
/// what focusing and stabilisation have moved since the calibration. A lens counts as a phone's
/// unless its camera file says that it is locked: photos lose their EXIF on the way, and many
/// cameras focus anew.
LensMatrix covariance_in_photo(const CameraModel& camera);

/// A camera of whose lens nothing is known but its model: as wide as a guess from no EXIF.
LensMatrix covariance_of_any_lens(const CameraModel& camera);

/// How far a lens moves from photo to photo, as standard uncertainties. A phone's focusing changes
/// its focal length by 1-3 % between 200 and 450 mm, its stabilisation shifts the principal point
/// by 10-30 px (common practice, no source).
struct LensMotion {
  double focal = 0.0;      ///< Of both focal lengths together, relative.
  double centre_px = 0.0;  ///< Of the principal point, along x and along y.
};
LensMotion lens_motion(const CameraModel& camera);

/// What tells the photo's camera, lens, resolution, crop or zoom from the camera's, in a few words;
/// empty when nothing does.
std::string camera_difference(const CameraModel& camera, const Photo& photo);

/// Whether EXIF says which camera took a photo: its make or its model.
bool names_camera(const CameraIdentity& identity);

/// "Wrenfield WF-31, lens WF main, 5.67 mm, 4032 x 3024 px".
std::string camera_words(const CameraIdentity& identity, cv::Size size);

/// The camera file's lens in a photo that does not say which camera took it. It may have been taken
/// with another one: as little is known of the lens as of one that is guessed from EXIF. Where the
/// file names no camera either (a USB camera has no EXIF), the maker's word is all there can be,
/// and the distortion is held.
CameraModel for_unnamed_photo(const CameraModel& camera);

/// A photo that does not say which camera took it is let through: what is known of the lens then is
/// for_unnamed_photo.
/// @throws Error  The photo was taken with another camera, lens, resolution, crop or zoom than
///                the camera file's; the message describes both.
void require_same_camera(const CameraModel& camera, const Photo& photo);

}  // namespace evenbevel
