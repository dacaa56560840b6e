#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "evenbevel/camera.hpp"

namespace evenbevel {

// The camera files of a shop: one folder, one file a camera, lens and picture size.

/// `cameras` in the data folder (folders.hpp). Empty: there is no home folder.
std::optional<std::filesystem::path> default_camera_folder();

struct FoundCamera {
  std::optional<CameraModel> camera = {};  ///< Empty: none of them took the photo.
  /// Files that cannot be read as camera files, each with the reason; they are left where they are.
  std::vector<std::string> unreadable = {};
};

/// The camera that took a photo, by the photo's EXIF (make, model, lens, focal length, zoom, as far
/// as the file holds them) and its size in px. A photo without EXIF finds none, nor does a file
/// that names no camera. Of several that fit, the one that holds the most of these.
/// @throws Error  Two fit alike.
FoundCamera find_camera(const Photo& photo, const std::filesystem::path& folder);

struct KeptCamera {
  std::filesystem::path file = {};
  bool replaced = false;  ///< An earlier file of the same camera, lens and picture size.
};

/// Puts a camera into the folder (made when missing) under a name made of what it is. A file of
/// another camera is never overwritten.
/// @pre names_camera(camera.identity).
/// @throws Error  Not writable.
KeptCamera keep_camera(const CameraModel& camera, const std::filesystem::path& folder);

}  // namespace evenbevel
