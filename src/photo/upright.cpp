#include <cassert>

#include <opencv2/core.hpp>

#include "evenbevel/photo.hpp"

namespace evenbevel {

// Exif 2.3, tag 274, as three steps: 5 to 8 swap rows and columns, then the picture is mirrored
// left to right, upside down, or both.
namespace {

struct Turn {
  bool transpose = false;
  bool mirror_x = false;
  bool mirror_y = false;
};

Turn turn_of(int orientation) {
  assert(orientation >= 1 && orientation <= 8);
  switch (orientation) {
    case 2:
      return {.mirror_x = true};
    case 3:
      return {.mirror_x = true, .mirror_y = true};
    case 4:
      return {.mirror_y = true};
    case 5:
      return {.transpose = true};
    case 6:
      return {.transpose = true, .mirror_x = true};
    case 7:
      return {.transpose = true, .mirror_x = true, .mirror_y = true};
    case 8:
      return {.transpose = true, .mirror_y = true};
    default:
      return {};
  }
}

}  // namespace

cv::Mat upright(const cv::Mat& pixels, int orientation) {
  const Turn turn = turn_of(orientation);
  cv::Mat out = pixels;
  if (turn.transpose) cv::transpose(pixels, out);
  if (turn.mirror_x || turn.mirror_y) {
    cv::Mat flipped;
    cv::flip(out, flipped, turn.mirror_x && turn.mirror_y ? -1 : (turn.mirror_x ? 1 : 0));
    out = flipped;
  }
  return out;
}

cv::Size upright_size(cv::Size stored_size, int orientation) {
  return turn_of(orientation).transpose ? cv::Size(stored_size.height, stored_size.width)
                                        : stored_size;
}

cv::Point2d upright_point(cv::Point2d stored_px, cv::Size stored_size, int orientation) {
  const Turn turn = turn_of(orientation);
  const cv::Size size = upright_size(stored_size, orientation);
  cv::Point2d out = turn.transpose ? cv::Point2d(stored_px.y, stored_px.x) : stored_px;
  if (turn.mirror_x) out.x = size.width - 1 - out.x;
  if (turn.mirror_y) out.y = size.height - 1 - out.y;
  return out;
}

}  // namespace evenbevel
