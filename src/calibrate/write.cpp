#include <fstream>
#include <vector>

#include "evenbevel/calibrate.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/media.hpp"
#include "units/own_file.hpp"

namespace evenbevel {

namespace {

[[noreturn]] void fail(const std::filesystem::path& path) {
  throw Error(path.string() + " cannot be written",
              "choose a folder that exists and may be written to, on a disk with room");
}

void write_bytes(const std::vector<uchar>& bytes, const std::filesystem::path& path) {
  std::ofstream out(path, std::ios::binary);
  out.write(reinterpret_cast<const char*>(bytes.data()),
            static_cast<std::streamsize>(bytes.size()));
  out.close();
  if (!out.fail()) return;
  std::error_code ignored;
  std::filesystem::remove(path, ignored);
  fail(path);
}

}  // namespace

void write_calibration(const CalibrationResult& result, const std::filesystem::path& camera_file,
                       const std::filesystem::path& picture_file) {
  require_own_file(camera_file, "%YAML");
  std::error_code failure;
  // A picture does not tell who made it; the camera file that it belongs to does.
  if (std::filesystem::exists(picture_file, failure) &&
      !std::filesystem::exists(camera_file, failure)) {
    require_own_file(picture_file, "\x89PNG");
  }
  const std::vector<uchar> png = encode_picture(".png", coverage_picture(result));
  if (png.empty()) fail(picture_file);
  if (std::filesystem::is_directory(picture_file, failure)) fail(picture_file);
  std::filesystem::path temporary = picture_file;
  temporary += ".part";
  write_bytes(png, temporary);
  try {
    write_camera_file(result.camera, camera_file);
  } catch (...) {
    std::filesystem::remove(temporary, failure);
    throw;
  }
  std::filesystem::rename(temporary, picture_file, failure);
  if (!failure) return;
  std::error_code ignored;
  std::filesystem::remove(temporary, ignored);
  fail(picture_file);
}

}  // namespace evenbevel
