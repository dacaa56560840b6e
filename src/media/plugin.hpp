#pragma once

#include "evenbevel/media.hpp"

namespace evenbevel {

/// What the module library offers; each function as its namesake in evenbevel/media.hpp.
class MediaPlugin {
 public:
  MediaPlugin() = default;
  MediaPlugin(const MediaPlugin&) = delete;
  MediaPlugin& operator=(const MediaPlugin&) = delete;
  virtual ~MediaPlugin() = default;

  virtual cv::Mat decode(const cv::Mat& file, int flags) const = 0;
  virtual std::vector<std::uint8_t> encode(const std::string& extension,
                                           const cv::Mat& pixels) const = 0;
  virtual std::unique_ptr<VideoStream> open_camera(int number, int backend) const = 0;
  virtual std::unique_ptr<VideoStream> open_video(const std::string& source) const = 0;
  virtual int show(const std::string& window, const cv::Mat& picture, int wait_ms) const = 0;
  virtual void close_windows() const = 0;
};

inline constexpr const char* kMediaEntry = "evenbevel_media_plugin";
using MediaEntry = const MediaPlugin* (*)();

}  // namespace evenbevel
