#include <algorithm>

#include <opencv2/imgproc.hpp>

#include "evenbevel/live_view.hpp"

namespace evenbevel {
namespace {

// M. Okabe, K. Ito, "Color universal design" (2008); BGR.
const cv::Scalar kSeenBgr(115, 158, 0), kLaneBgr(233, 180, 86), kInkBgr(26, 26, 26);

cv::Point shown(const Eigen::Vector2d& q_px, double scale) {
  return {static_cast<int>((q_px.x() + 0.5) * scale), static_cast<int>((q_px.y() + 0.5) * scale)};
}

}  // namespace

cv::Mat live_picture(const cv::Mat& bgr, const LiveLook& look, int width_px) {
  const double scale = std::min(1.0, static_cast<double>(width_px) / bgr.cols);
  cv::Mat picture;
  cv::resize(bgr, picture, {}, scale, scale, cv::INTER_AREA);
  if (!look.lane_px.empty()) {
    std::vector<cv::Point> lane;
    for (const Eigen::Vector2d& q : look.lane_px) lane.push_back(shown(q, scale));
    cv::polylines(picture, lane, true, kInkBgr, 4, cv::LINE_AA);
    cv::polylines(picture, lane, true, kLaneBgr, 2, cv::LINE_AA);
  }
  if (look.card) {
    for (const CardCorner& corner : look.card->corners) {
      cv::circle(picture, shown(corner.q_px, scale), 4, kInkBgr, 1, cv::LINE_AA);
      cv::circle(picture, shown(corner.q_px, scale), 3, kSeenBgr, 2, cv::LINE_AA);
    }
  }
  return picture;
}

}  // namespace evenbevel
