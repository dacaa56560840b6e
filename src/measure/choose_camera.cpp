#include <algorithm>

#include "evenbevel/camera_store.hpp"
#include "evenbevel/measure.hpp"

namespace evenbevel {
namespace {

constexpr const char* kGiven = "option";
constexpr const char* kByExif = "exif";
constexpr const char* kGuessed = "default";

/// A live source carries no EXIF, nor does the camera file that was made from one: which camera it
/// is the maker says by naming both.
bool is_told(const Photo& photo, const CameraModel& file, PhotoSource source) {
  if (names_camera(photo.camera)) return true;
  return source == PhotoSource::live && !names_camera(file.identity);
}

ChosenCamera given_camera(std::span<Photo> photos, const std::string& camera_file,
                          PhotoSource source) {
  const CameraModel file = read_camera_file(camera_file);
  const auto told = [&](const Photo& photo) { return is_told(photo, file, source); };
  if (std::ranges::all_of(photos, told)) return {file, kGiven};
  photos.front().warnings.push_back(remark<RemarkCode::camera_not_told>(file.file));
  return {for_unnamed_photo(file), kGiven};
}

FoundCamera camera_by_exif(const Photo& photo) {
  const auto folder = default_camera_folder();
  return folder ? find_camera(photo, *folder) : FoundCamera{};
}

}  // namespace

ChosenCamera find_or_guess_camera(std::span<Photo> photos, const std::string& camera_file,
                                  PhotoSource source) {
  if (!camera_file.empty()) return given_camera(photos, camera_file, source);
  Photo& photo = photos.front();
  const auto named = [](const Photo& one) { return names_camera(one.camera); };
  if (source == PhotoSource::live) return {guess_camera(photo), kGuessed};
  if (!std::ranges::all_of(photos, named)) {
    photo.warnings.push_back(remark<RemarkCode::camera_unnamed>());
    return {guess_camera(photo), kGuessed};
  }
  FoundCamera found = camera_by_exif(photo);
  if (found.camera) return {std::move(*found.camera), kByExif, std::move(found.unreadable)};
  photo.warnings.push_back(
      remark<RemarkCode::camera_unknown>(camera_words(photo.camera, photo.pixels.size())));
  return {guess_camera(photo), kGuessed, std::move(found.unreadable)};
}

ReportSettings with_camera(ReportSettings settings, const ChosenCamera& camera) {
  settings.from.add_text("camera", camera.from);
  return settings;
}

}  // namespace evenbevel
