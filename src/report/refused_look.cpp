#include <algorithm>
#include <functional>
#include <optional>
#include <set>
#include <utility>

#include <opencv2/imgproc.hpp>

#include "evenbevel/card_outline.hpp"
#include "evenbevel/refused_picture.hpp"

namespace evenbevel {
namespace {

constexpr std::size_t kCornersForPlace = 8;  // a pose from fewer says little of the rest

/// The picture shrunk until a block of it is a pixel.
constexpr int kBlockPx = 16;

/// Card to picture. A photo that was refused may have any lens: a guessed one will do to draw with.
std::optional<CardPose> place_of(const FoundCard& card, const CameraModel& camera) {
  if (card.corners.size() < kCornersForPlace) return std::nullopt;
  try {
    return fit_card_pose(card, camera, {});
  } catch (const Error&) {
    return std::nullopt;
  }
}

void add_unseen(RefusedLook& look, const FoundCard& card, const CameraModel& camera,
                const CardPose& pose, cv::Size size) {
  std::set<int> seen;
  for (const CardCorner& corner : card.corners) seen.insert(corner.index);
  const CardLayout& layout = card_layout(card.kind);
  for (std::size_t i = 0; i < layout.corners_mm.size(); ++i) {
    if (seen.contains(static_cast<int>(i))) continue;
    const auto q = card_pixel(camera, pose, layout.corners_mm[i]);
    const bool inside =
        q && q->x() >= 0.0 && q->y() >= 0.0 && q->x() < size.width && q->y() < size.height;
    if (inside) {
      look.unseen_px.push_back(*q);
    } else {
      ++look.outside;
    }
  }
}

std::vector<cv::Point2f> points_of(const RefusedLook& look) {
  std::vector<cv::Point2f> points;
  const auto add = [&](const Eigen::Vector2d& q) {
    points.emplace_back(static_cast<float>(q.x()), static_cast<float>(q.y()));
  };
  for (const FoundCard& card : look.cards) {
    if (card.kind != look.wanted) continue;
    for (const CardCorner& corner : card.corners) add(corner.q_px);
  }
  for (const Eigen::Vector2d& q : look.unseen_px) add(q);
  for (const Eigen::Vector2d& q : look.lane_px) add(q);
  return points;
}

/// Boxes around what hangs together of a mask of blocks; small ones are left out.
std::vector<cv::Rect> large_patches(const cv::Mat& blocks, cv::Size picture) {
  constexpr double kLeastShare = 0.002;  // of the picture
  constexpr std::size_t kMostShown = 6;
  cv::Mat labels, numbers, centres;
  const int count = cv::connectedComponentsWithStats(blocks, labels, numbers, centres);
  std::vector<std::pair<int, cv::Rect>> patches;
  for (int i = 1; i < count; ++i) {
    const int area = numbers.at<int>(i, cv::CC_STAT_AREA);
    if (area < kLeastShare * static_cast<double>(blocks.total())) continue;
    const cv::Rect box(numbers.at<int>(i, cv::CC_STAT_LEFT) * kBlockPx,
                       numbers.at<int>(i, cv::CC_STAT_TOP) * kBlockPx,
                       numbers.at<int>(i, cv::CC_STAT_WIDTH) * kBlockPx,
                       numbers.at<int>(i, cv::CC_STAT_HEIGHT) * kBlockPx);
    patches.emplace_back(area, box & cv::Rect({}, picture));
  }
  std::ranges::sort(patches, std::greater{}, &std::pair<int, cv::Rect>::first);
  std::vector<cv::Rect> boxes;
  for (std::size_t i = 0; i < std::min(kMostShown, patches.size()); ++i) {
    boxes.push_back(patches[i].second);
  }
  return boxes;
}

/// Pure white on the card and in the lane; nearly black anywhere, where there is no card.
void add_light(RefusedLook& look, const cv::Mat& grey) {
  constexpr double kWhite = 252.0, kDark = 20.0;  // of 255, of a block's mean
  cv::Mat blocks, mask;
  cv::resize(grey, blocks, {std::max(1, grey.cols / kBlockPx), std::max(1, grey.rows / kBlockPx)},
             0.0, 0.0, cv::INTER_AREA);
  cv::compare(blocks, kWhite, mask, cv::CMP_GE);
  const std::vector<cv::Point2f> card = points_of(look);
  if (card.size() >= 3) {
    std::vector<cv::Point2f> hull;
    cv::convexHull(card, hull);
    std::vector<cv::Point> in_blocks;
    for (const cv::Point2f& q : hull) {
      in_blocks.emplace_back(static_cast<int>(q.x) / kBlockPx, static_cast<int>(q.y) / kBlockPx);
    }
    cv::Mat on_card = cv::Mat::zeros(mask.size(), CV_8UC1);
    cv::fillConvexPoly(on_card, in_blocks, 255);
    cv::bitwise_and(mask, on_card, mask);
  } else {
    cv::Mat dark;
    cv::compare(blocks, kDark, dark, cv::CMP_LE);
    look.dark_px = large_patches(dark, grey.size());
  }
  look.white_px = large_patches(mask, grey.size());
}

}  // namespace

const FoundCard* RefusedLook::card() const {
  const auto found = std::ranges::find(cards, wanted, &FoundCard::kind);
  return found == cards.end() ? nullptr : &*found;
}

RefusedLook look_at_refused(const Photo& photo, CardKind wanted) {
  const cv::Mat grey = grey8(photo.pixels);
  RefusedLook look{.wanted = wanted, .cards = find_cards(grey)};
  if (const FoundCard* card = look.card()) {
    const CameraModel camera = guess_camera(photo);
    if (const auto pose = place_of(*card, camera)) {
      add_unseen(look, *card, camera, *pose, grey.size());
      look.lane_px = lane_outline_px(wanted, camera, *pose);
    }
  }
  add_light(look, grey);
  return look;
}

}  // namespace evenbevel
