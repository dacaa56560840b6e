#include "evenbevel/media.hpp"

#include <cstdlib>

#include <dlfcn.h>

#include "evenbevel/error.hpp"
#include "media/library_path.hpp"
#include "media/plugin.hpp"

namespace evenbevel {
namespace {

void* open_library() {
  const std::filesystem::path path = media_library();
  void* library = dlopen(path.c_str(), RTLD_NOW | RTLD_LOCAL);
  if (library != nullptr) return library;
  const char* reason = dlerror();
  throw Error(
      std::string("the library for videos, windows and unusual pictures cannot be loaded: ") +
          (reason != nullptr ? reason : path.string()),
      "install evenbevel again; a JPEG photo can be measured without it");
}

const MediaPlugin& load() {
  void* const entry = dlsym(open_library(), kMediaEntry);
  if (entry == nullptr) {
    throw Error("evenbevel_media.so is not evenbevel's", "install evenbevel again");
  }
  return *reinterpret_cast<MediaEntry>(entry)();
}

const MediaPlugin& plugin() {
  static const MediaPlugin& loaded = load();
  return loaded;
}

}  // namespace

cv::Mat decode_picture(std::span<const std::uint8_t> file, int flags) {
  const cv::Mat bytes(1, static_cast<int>(file.size()), CV_8U,
                      const_cast<std::uint8_t*>(file.data()));  // cv::Mat knows no const; only read
  return plugin().decode(bytes, flags);
}

std::vector<std::uint8_t> encode_picture(const std::string& extension, const cv::Mat& pixels) {
  return plugin().encode(extension, pixels);
}

std::unique_ptr<VideoStream> open_camera(int number, int backend) {
  return plugin().open_camera(number, backend);
}

std::unique_ptr<VideoStream> open_video(const std::string& source) {
  return plugin().open_video(source);
}

bool has_display() {
  const auto given = [](const char* name) {
    const char* value = std::getenv(name);
    return value != nullptr && value[0] != '\0';
  };
  return given("DISPLAY") || given("WAYLAND_DISPLAY");
}

int show_picture(const std::string& window, const cv::Mat& picture, int wait_ms) {
  return plugin().show(window, picture, wait_ms);
}

void close_windows() { plugin().close_windows(); }

}  // namespace evenbevel
