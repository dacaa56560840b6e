#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "evenbevel/camera.hpp"
#include "evenbevel/error.hpp"

namespace evenbevel {
namespace {

bool differ(const std::string& file, const std::string& photo) {
  return !file.empty() && !photo.empty() && file != photo;
}

/// EXIF rounds to hundredths of a mm or of a factor; 1 % is more than that and less than any step
/// between two lenses.
bool differ(const std::optional<double>& file, const std::optional<double>& photo) {
  return file && photo && std::abs(*file - *photo) > 0.01 * std::max(*file, *photo);
}

std::string size_reason(cv::Size file, cv::Size photo) {
  if (photo == cv::Size(file.height, file.width)) return "the picture was turned by a program";
  const double along = static_cast<double>(photo.width) / file.width;
  const double across = static_cast<double>(photo.height) / file.height;
  if (std::abs(along - across) < 0.002 * along) return "another resolution";
  return "another resolution or a crop";
}

}  // namespace

bool names_camera(const CameraIdentity& identity) {
  return !identity.make.empty() || !identity.model.empty();
}

std::string camera_words(const CameraIdentity& identity, cv::Size size) {
  std::string text = identity.make + (identity.make.empty() ? "" : " ") + identity.model;
  if (text.find_first_not_of(' ') == std::string::npos) text = "unnamed camera";
  if (!identity.lens.empty()) text += ", lens " + identity.lens;
  if (identity.focal_length_mm) text += fmt::format(", {:g} mm", *identity.focal_length_mm);
  if (identity.focal_length_35mm)
    text += fmt::format(" (35 mm equivalent {:g} mm)", *identity.focal_length_35mm);
  if (identity.digital_zoom) text += fmt::format(", digital zoom {:g}", *identity.digital_zoom);
  return text + fmt::format(", {} x {} px", size.width, size.height);
}

std::string camera_difference(const CameraModel& camera, const Photo& photo) {
  const CameraIdentity& file = camera.identity;
  const cv::Size file_size(camera.width_px, camera.height_px);
  if (differ(file.make, photo.camera.make) || differ(file.model, photo.camera.model)) {
    return "another camera";
  }
  if (differ(file.lens, photo.camera.lens)) return "another lens";
  if (differ(file.focal_length_mm, photo.camera.focal_length_mm)) {
    return "another lens or zoom setting";
  }
  if (differ(file.digital_zoom, photo.camera.digital_zoom)) return "another digital zoom";
  if (photo.pixels.size() != file_size) return size_reason(file_size, photo.pixels.size());
  if (differ(file.focal_length_35mm, photo.camera.focal_length_35mm)) {
    return "another digital zoom or crop";
  }
  return "";
}

void require_same_camera(const CameraModel& camera, const Photo& photo) {
  const std::string reason = camera_difference(camera, photo);
  if (reason.empty()) return;
  const std::string where = camera.file.empty() ? "the camera model" : "camera file " + camera.file;
  throw Error(photo.name + " does not fit " + where + " (" + reason + "): the photo has " +
                  camera_words(photo.camera, photo.pixels.size()) + "; the camera file has " +
                  camera_words(camera.identity, cv::Size(camera.width_px, camera.height_px)),
              "take the photo as the camera was calibrated (same camera, lens and zoom, the "
              "original file, neither cropped nor resized), or calibrate this one");
}

}  // namespace evenbevel
