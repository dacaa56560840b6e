#include <algorithm>
#include <cctype>
#include <cmath>

#include <fmt/format.h>

#include "evenbevel/camera_store.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/folders.hpp"

namespace evenbevel {
namespace {

namespace fs = std::filesystem;

constexpr const char* kEnding = ".yml";

/// EXIF rounds; no two lenses of one camera are that near.
bool alike(double a, double b) { return std::abs(a - b) <= 0.01 * std::max(a, b); }

/// What the file holds the photo must hold too, and the same.
bool holds_same(const std::string& file, const std::string& photo) {
  return file.empty() || file == photo;
}
bool holds_same(const std::optional<double>& file, const std::optional<double>& photo) {
  return !file || (photo && alike(*file, *photo));
}

double zoom_of(const CameraIdentity& identity) { return identity.digital_zoom.value_or(1.0); }

bool took(const CameraModel& camera, const Photo& photo) {
  const CameraIdentity &file = camera.identity, &exif = photo.camera;
  return names_camera(file) && names_camera(exif) && camera_difference(camera, photo).empty() &&
         holds_same(file.make, exif.make) && holds_same(file.model, exif.model) &&
         holds_same(file.lens, exif.lens) &&
         holds_same(file.focal_length_mm, exif.focal_length_mm) &&
         holds_same(file.focal_length_35mm, exif.focal_length_35mm) &&
         alike(zoom_of(file), zoom_of(exif));
}

int facts_held(const CameraIdentity& identity) {
  const auto held = [](bool there) { return there ? 1 : 0; };
  return held(!identity.make.empty()) + held(!identity.model.empty()) +
         held(!identity.lens.empty()) + held(identity.focal_length_mm.has_value()) +
         held(identity.focal_length_35mm.has_value());
}

/// One camera, lens and picture size: a newer calibration takes the earlier one's place.
bool same_lens(const CameraModel& a, const CameraModel& b) {
  const auto same = [](const std::optional<double>& one, const std::optional<double>& other) {
    return one.has_value() == other.has_value() && (!one || alike(*one, *other));
  };
  const CameraIdentity &one = a.identity, &other = b.identity;
  return a.width_px == b.width_px && a.height_px == b.height_px && one.make == other.make &&
         one.model == other.model && one.lens == other.lens &&
         same(one.focal_length_mm, other.focal_length_mm) &&
         same(one.focal_length_35mm, other.focal_length_35mm) &&
         alike(zoom_of(one), zoom_of(other));
}

std::vector<fs::path> files_in(const fs::path& folder) {
  std::vector<fs::path> files;
  std::error_code ignored;  // not there: no cameras yet
  for (const fs::directory_entry& entry : fs::directory_iterator(folder, ignored)) {
    if (entry.path().extension() == kEnding) files.push_back(entry.path());
  }
  std::ranges::sort(files);
  return files;
}

/// Letters, digits and points in small; all else is one dash.
std::string plain_name(const std::string& words) {
  std::string name;
  for (const char c : words) {
    const bool kept = std::isalnum(static_cast<unsigned char>(c)) != 0 || c == '.';
    if (kept) {
      name += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    } else if (!name.empty() && name.back() != '-') {
      name += '-';
    }
  }
  constexpr std::size_t kLongest = 100;
  name.resize(std::min(name.size(), kLongest));
  while (!name.empty() && (name.back() == '-' || name.back() == '.')) name.pop_back();
  while (name.starts_with('.')) name.erase(0, 1);
  return name.empty() ? "camera" : name;
}

std::string name_of(const CameraModel& camera) {
  const CameraIdentity& identity = camera.identity;
  std::string words = identity.model;
  if (!identity.model.starts_with(identity.make)) words = identity.make + ' ' + words;
  if (identity.focal_length_mm) words += fmt::format(" {:g}mm", *identity.focal_length_mm);
  return plain_name(words + fmt::format(" {}x{}", camera.width_px, camera.height_px));
}

/// The earlier file of this camera and lens, whatever it is called, or a name that is free.
KeptCamera place_for(const CameraModel& camera, const fs::path& folder) {
  for (const fs::path& file : files_in(folder)) {
    try {
      if (same_lens(read_camera_file(file), camera)) return {file, true};
    } catch (const Error&) {
      continue;  // not a camera file: its name is taken
    }
  }
  const std::string name = name_of(camera);
  fs::path file = folder / (name + kEnding);
  for (int n = 2; fs::exists(fs::symlink_status(file)); ++n) {
    file = folder / (name + "-" + std::to_string(n) + kEnding);
  }
  return {file, false};
}

}  // namespace

std::optional<fs::path> default_camera_folder() {
  const std::optional<fs::path> data = data_folder();
  if (!data) return std::nullopt;
  return *data / "cameras";
}

FoundCamera find_camera(const Photo& photo, const fs::path& folder) {
  FoundCamera found;
  if (!names_camera(photo.camera)) return found;
  std::vector<CameraModel> fitting;
  for (const fs::path& file : files_in(folder)) {
    try {
      CameraModel camera = read_camera_file(file);
      if (took(camera, photo)) fitting.push_back(std::move(camera));
    } catch (const Error& error) {
      found.unreadable.emplace_back(error.what());
    }
  }
  if (fitting.empty()) return found;
  const auto held = [](const CameraModel& camera) { return facts_held(camera.identity); };
  std::ranges::stable_sort(fitting, std::ranges::greater{}, held);
  if (fitting.size() > 1 && held(fitting[0]) == held(fitting[1])) {
    throw Error("two camera files fit " + photo.name + " alike: " + fitting[0].file + " and " +
                    fitting[1].file,
                "move one of them out of that folder, or give the right one with --camera-file");
  }
  found.camera = std::move(fitting.front());
  return found;
}

KeptCamera keep_camera(const CameraModel& camera, const fs::path& folder) {
  std::error_code failure;
  fs::create_directories(folder, failure);
  if (failure) {
    throw Error(
        "the folder of camera files " + folder.string() + " cannot be made: " + failure.message(),
        "check your rights there, or give the camera file with --camera-file each time");
  }
  KeptCamera kept = place_for(camera, folder);
  write_camera_file(camera, kept.file);
  return kept;
}

}  // namespace evenbevel
