#include "media/plugin.hpp"

#include <opencv2/highgui.hpp>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/videoio.hpp>

namespace evenbevel {
namespace {

class CaptureStream : public VideoStream {
 public:
  template <class... Source>
  explicit CaptureStream(const Source&... source) : capture_(source...) {}
  bool is_open() const { return capture_.isOpened(); }
  bool read(cv::Mat& picture) override { return capture_.read(picture); }
  bool set(int property, double value) override { return capture_.set(property, value); }
  double get(int property) const override { return capture_.get(property); }

 private:
  cv::VideoCapture capture_;
};

template <class... Source>
std::unique_ptr<VideoStream> opened(const Source&... source) {
  auto stream = std::make_unique<CaptureStream>(source...);
  if (!stream->is_open()) return nullptr;
  return stream;
}

class OpenCvPlugin : public MediaPlugin {
 public:
  cv::Mat decode(const cv::Mat& file, int flags) const override {
    return cv::imdecode(file, flags);
  }

  std::vector<std::uint8_t> encode(const std::string& extension,
                                   const cv::Mat& pixels) const override {
    std::vector<std::uint8_t> file;
    if (!cv::imencode(extension, pixels, file)) file.clear();
    return file;
  }

  std::unique_ptr<VideoStream> open_camera(int number, int backend) const override {
    return opened(number, backend);
  }

  std::unique_ptr<VideoStream> open_video(const std::string& source) const override {
    return opened(source);
  }

  int show(const std::string& window, const cv::Mat& picture, int wait_ms) const override {
    cv::namedWindow(window, cv::WINDOW_NORMAL | cv::WINDOW_KEEPRATIO);
    cv::imshow(window, picture);
    return cv::waitKey(wait_ms);
  }

  void close_windows() const override { cv::destroyAllWindows(); }
};

}  // namespace

extern "C" const MediaPlugin* evenbevel_media_plugin() {
  static const OpenCvPlugin plugin;
  return &plugin;
}

}  // namespace evenbevel
