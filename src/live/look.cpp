#include <opencv2/imgproc.hpp>

#include "evenbevel/card_outline.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/live_view.hpp"
#include "evenbevel/photo.hpp"

namespace evenbevel {
namespace {

constexpr std::size_t kCornersForPose = 16;

/// Pure white within the box of the corners seen, in a quarter of its pixels.
double white_share(const cv::Mat& grey, const FoundCard& card) {
  constexpr int kWhite = 252, kStep = 2;
  if (card.corners.empty()) return 0.0;
  Eigen::AlignedBox2d box;
  for (const CardCorner& corner : card.corners) box.extend(corner.q_px);
  const cv::Rect region =
      cv::Rect(cv::Point(static_cast<int>(box.min().x()), static_cast<int>(box.min().y())),
               cv::Point(static_cast<int>(box.max().x()), static_cast<int>(box.max().y()))) &
      cv::Rect({}, grey.size());
  std::size_t white = 0, all = 0;
  for (int y = region.y; y < region.y + region.height; y += kStep) {
    const uchar* row = grey.ptr<uchar>(y);
    for (int x = region.x; x < region.x + region.width; x += kStep) {
      white += row[x] >= kWhite ? 1U : 0U;
      ++all;
    }
  }
  return all == 0 ? 0.0 : static_cast<double>(white) / static_cast<double>(all);
}

Eigen::Vector2d middle_mm(const CardLayout& layout) {
  if (layout.lane_columns == 0) return Eigen::Vector2d::Zero();
  return layout.lane_mm().center();
}

void place(LiveLook& look, const LiveSettings& settings) {
  if (look.card->corners.size() < kCornersForPose) return;
  try {
    const CardPose pose = fit_card_pose(*look.card, settings.camera, settings.print);
    const CardLayout& layout = card_layout(settings.card);
    const Eigen::Vector3d camera_mm = pose.T_camera_card.inverse().matrix.translation();
    look.distance_mm = camera_mm.z();
    look.aside_mm = camera_mm.head<2>() - middle_mm(layout);
    look.px_per_mm = look.card->spacing_px / layout.pitch_mm;
    look.lane_px = lane_outline_px(settings.card, settings.camera, pose);
    look.placed = true;
  } catch (const Error&) {
    look.placed = false;  // bent or half hidden: the measurement says so
  }
}

}  // namespace

LiveLook look_at_frame(const cv::Mat& bgr, const LiveSettings& settings) {
  const cv::Mat grey = grey8(bgr);
  LiveLook look;
  for (FoundCard& card : find_cards(grey)) {
    if (card.kind == settings.card) {
      look.card = std::move(card);
    } else {
      look.other = card.kind;
    }
  }
  if (!look.card) return look;
  look.seen = static_cast<double>(look.card->corners.size()) /
              static_cast<double>(card_layout(settings.card).corners_mm.size());
  look.glare = white_share(grey, *look.card);
  place(look, settings);
  return look;
}

}  // namespace evenbevel
