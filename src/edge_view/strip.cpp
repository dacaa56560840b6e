#include "strip.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>
#include <optional>
#include <utility>

#include <opencv2/imgproc.hpp>

#include "border/local_map.hpp"
#include "border/profile_bins.hpp"

namespace evenbevel::edge {
namespace {

Light light_of(const cv::Mat& channel, const Sharpening& sharpening) {
  const cv::Mat plain =
      sharpening.moves_borders() ? unsharpened(channel, sharpening, 255.0 * kClipEncoded) : channel;
  Light light{plain, linear_light(plain)};
  if (plain.depth() == CV_16U) plain.convertTo(light.encoded, CV_8U, 1.0 / 257.0);
  return light;
}

/// Layout dye is blue or red (common practice, no source). Empty: hardly a pixel is dyed.
std::optional<int> dye_channel(const cv::Mat& bgr) {
  constexpr double kClearly = 1.4;      // Encoded, against both other channels.
  constexpr double kLeastShare = 0.01;  // Of the lane and what lies beside it.
  constexpr double kNearest = 0.25;
  cv::Mat small;
  cv::resize(bgr, small, {}, kNearest, kNearest, cv::INTER_NEAREST);
  std::array<cv::Mat, 3> channels;
  cv::split(small, channels.data());
  for (const auto& [own, other] : {std::pair{0, 2}, std::pair{2, 0}}) {
    cv::Mat rest;
    cv::max(channels[1], channels[static_cast<std::size_t>(other)], rest);
    rest.convertTo(rest, -1, kClearly);
    const cv::Mat dyed = channels[static_cast<std::size_t>(own)] > rest;
    if (cv::countNonZero(dyed) > kLeastShare * static_cast<double>(dyed.total())) return own;
  }
  return std::nullopt;
}

}  // namespace

HeightProfile::HeightProfile(std::vector<Eigen::Vector2d> x_height_mm)
    : nodes_(std::move(x_height_mm)) {}

double HeightProfile::at(double card_x_mm) const {
  const auto above =
      std::find_if(nodes_.begin(), nodes_.end(),
                   [card_x_mm](const Eigen::Vector2d& node) { return node.x() > card_x_mm; });
  if (above == nodes_.begin()) return nodes_.front().y();
  if (above == nodes_.end()) return nodes_.back().y();
  const Eigen::Vector2d& below = *std::prev(above);
  const double share = (card_x_mm - below.x()) / (above->x() - below.x());
  return below.y() + share * (above->y() - below.y());
}

double HeightProfile::mean_mm() const {
  double sum = 0.0;
  for (const Eigen::Vector2d& node : nodes_) sum += node.y() / static_cast<double>(nodes_.size());
  return sum;
}

StripFrame::StripFrame(const CameraModel& camera, const Transform<Camera, Card>& T_camera_card,
                       HeightProfile reference_height_mm, double direction_rad)
    : camera_(camera),
      T_camera_card_(T_camera_card),
      heights_(std::move(reference_height_mm)),
      direction_rad_(direction_rad),
      along_(std::cos(direction_rad), std::sin(direction_rad)),
      across_(along_.y(), -along_.x()),
      centre_card_mm_(T_camera_card.inverse().matrix.translation()) {
  const Eigen::Vector2d foot = centre_card_mm_.head<2>();
  camera_stz_mm_ = {foot.dot(along_), foot.dot(across_), centre_card_mm_.z()};
}

StripFrame StripFrame::turned(double direction_rad) const {
  return {camera_, T_camera_card_, heights_, direction_rad};
}

StripFrame StripFrame::in_plane() const {
  return {camera_, T_camera_card_, heights_.mean_mm(), direction_rad_};
}

Eigen::Vector2d StripFrame::pixel(double s_mm, double t_mm) const {
  const Eigen::Vector2d xy = s_mm * along_ + t_mm * across_;
  const Point<Card> p_card{{xy.x(), xy.y(), heights_.at(xy.x())}};
  return project(camera_, T_camera_card_ * p_card);
}

Eigen::Vector2d StripFrame::at(const Eigen::Vector2d& q_px) const {
  const Eigen::Vector3d direction = T_camera_card_.matrix.linear().transpose() * ray(camera_, q_px);
  const auto meet = [&](double height_mm) -> Eigen::Vector2d {
    const double length = (height_mm - centre_card_mm_.z()) / direction.z();
    return (centre_card_mm_ + length * direction).head<2>();
  };
  // Heights change slowly along the card: each round is nearer by their slope times the ray's.
  Eigen::Vector2d xy = meet(heights_.mean_mm());
  constexpr int kRounds = 6;
  for (int round = 0; !heights_.flat() && round < kRounds; ++round) xy = meet(heights_.at(xy.x()));
  return {xy.dot(along_), xy.dot(across_)};
}

double StripFrame::px_per_mm_across(double s_mm, double t_mm) const {
  constexpr double kReach = 0.5;
  return (pixel(s_mm, t_mm + kReach) - pixel(s_mm, t_mm - kReach)).norm() / (2 * kReach);
}

LaneImage lane_image(const cv::Mat& pixels, const cv::Rect& region, const Sharpening& sharpening) {
  LaneImage image;
  const cv::Rect inside = region & cv::Rect({}, pixels.size());
  image.origin_px = inside.tl();
  image.clip = linear_light(kClipEncoded);
  if (pixels.channels() == 1) {
    image.grey = image.flats = light_of(pixels(inside), sharpening);
    return image;
  }
  cv::Mat channel;
  cv::cvtColor(pixels(inside), channel, cv::COLOR_BGR2GRAY);
  image.grey = image.flats = light_of(channel, sharpening);
  image.colour = pixels(inside);
  image.dye_channel = dye_channel(pixels(inside));
  if (image.dye_channel) {
    cv::Mat own;
    cv::extractChannel(pixels(inside), own, *image.dye_channel);
    image.flats = light_of(own, sharpening);
  }
  return image;
}

cv::Mat slope_kernel(double sigma_rows) {
  constexpr double kSigmas = 3.0;
  const int reach = static_cast<int>(std::ceil(kSigmas * sigma_rows));
  cv::Mat kernel(2 * reach + 1, 1, CV_32F);
  double norm = 0.0;
  for (int i = -reach; i <= reach; ++i) {
    const double value = i * std::exp(-0.5 * i * i / (sigma_rows * sigma_rows));
    kernel.at<float>(i + reach) = static_cast<float>(value);
    norm += value * i;
  }
  kernel /= norm;
  return kernel;
}

CoarseStrip coarse_strip(const LaneImage& image, Light LaneImage::*light, const StripFrame& frame,
                         const StripRange& range, double ds_mm, double dt_mm) {
  CoarseStrip strip{{}, range.s_low, ds_mm, range.t_low, dt_mm};
  const int columns = std::max(2, static_cast<int>((range.s_high - range.s_low) / ds_mm) + 1);
  const int rows = std::max(2, static_cast<int>((range.t_high - range.t_low) / dt_mm) + 1);
  cv::Mat map(rows, columns, CV_32FC2);
  // Across 20 mm the picture of a line bends by far less than a sample: a parabola is enough.
  for (int column = 0; column < columns; ++column) {
    const double s = strip.s_mm(column);
    const Eigen::Vector2d low = frame.pixel(s, range.t_low);
    const Eigen::Vector2d mid = frame.pixel(s, 0.5 * (range.t_low + range.t_high));
    const Eigen::Vector2d high = frame.pixel(s, range.t_high);
    for (int row = 0; row < rows; ++row) {
      const double f = 2.0 * row * dt_mm / (range.t_high - range.t_low) - 1.0;
      const Eigen::Vector2d q =
          mid + 0.5 * f * (high - low) + 0.5 * f * f * (high + low - 2.0 * mid);
      map.at<cv::Vec2f>(row, column) = cv::Vec2f(static_cast<float>(q.x() - image.origin_px.x),
                                                 static_cast<float>(q.y() - image.origin_px.y));
    }
  }
  cv::Mat sampled;
  cv::remap((image.*light).encoded, sampled, map, {}, cv::INTER_LINEAR, cv::BORDER_CONSTANT, 0);
  sampled.convertTo(strip.grey, CV_32F);
  return strip;
}

std::vector<ProfileSample> band_profile(const LaneImage& image, Light LaneImage::*light,
                                        const StripFrame& frame, const Band& band,
                                        double px_per_mm) {
  const cv::Mat& linear = (image.*light).linear;
  const Eigen::Vector2d centre = frame.pixel(band.s_mm, band.t_mid_mm);
  const Eigen::Vector2d ahead = frame.pixel(band.s_mm + band.half_length_mm,
                                            band.t_mid_mm + band.slope * band.half_length_mm) -
                                centre;
  const Eigen::Vector2d low = frame.pixel(band.s_mm, band.t_mid_mm + band.t_low_mm) - centre;
  const Eigen::Vector2d high = frame.pixel(band.s_mm, band.t_mid_mm + band.t_high_mm) - centre;
  const double reach_x = std::abs(ahead.x()) + std::max(std::abs(low.x()), std::abs(high.x())) + 1;
  const double reach_y = std::abs(ahead.y()) + std::max(std::abs(low.y()), std::abs(high.y())) + 1;
  const LocalMap map([&](const Eigen::Vector2d& q) { return frame.at(q); }, centre,
                     {reach_x, reach_y});

  ProfileBins bins(band.t_low_mm, band.t_high_mm, px_per_mm);
  const cv::Rect box = cv::Rect(cv::Point(static_cast<int>(std::floor(centre.x() - reach_x)),
                                          static_cast<int>(std::floor(centre.y() - reach_y))),
                                cv::Point(static_cast<int>(std::ceil(centre.x() + reach_x)) + 1,
                                          static_cast<int>(std::ceil(centre.y() + reach_y)) + 1)) &
                       cv::Rect(image.origin_px, linear.size());
  for (int y = box.y; y < box.y + box.height; ++y) {
    const float* row = linear.ptr<float>(y - image.origin_px.y);
    for (int x = box.x; x < box.x + box.width; ++x) {
      const Eigen::Vector2d st = map(x, y);
      const double along = st.x() - band.s_mm;
      if (std::abs(along) > band.half_length_mm) continue;
      const double t = st.y() - band.t_mid_mm - band.slope * along;
      bins.add(t, row[x - image.origin_px.x]);
    }
  }
  return bins.samples();
}

}  // namespace evenbevel::edge
