#include "section_plane.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <opencv2/imgproc.hpp>

#include "border/local_map.hpp"
#include "border/profile_bins.hpp"

namespace evenbevel::choil {

SectionPlane::SectionPlane(const CameraModel& camera, const Transform<Camera, Card>& T_camera_card)
    : camera_(camera),
      T_camera_card_(T_camera_card),
      centre_card_mm_(T_camera_card.inverse().matrix.translation()),
      foot_mm_(centre_card_mm_.x(), -centre_card_mm_.y()),
      distance_mm_(centre_card_mm_.z()) {}

Eigen::Vector2d SectionPlane::pixel(const Eigen::Vector2d& p_mm) const {
  return project(camera_, T_camera_card_ * Point<Card>{{p_mm.x(), -p_mm.y(), 0.0}});
}

Eigen::Vector2d SectionPlane::at(const Eigen::Vector2d& q_px) const {
  const Eigen::Vector3d direction = T_camera_card_.matrix.linear().transpose() * ray(camera_, q_px);
  const Eigen::Vector3d p = centre_card_mm_ - distance_mm_ / direction.z() * direction;
  return {p.x(), -p.y()};
}

double SectionPlane::px_per_mm(const Eigen::Vector2d& p_mm) const {
  const Eigen::Vector2d reach(0.5, 0.0);
  return (pixel(p_mm + reach) - pixel(p_mm - reach)).norm();
}

Patch light_patch(const cv::Mat& pixels, const cv::Rect& region, const Sharpening& sharpening) {
  Patch patch;
  const cv::Rect inside = region & cv::Rect({}, pixels.size());
  patch.origin_px = inside.tl();
  patch.clip = linear_light(kClipEncoded);
  cv::Mat grey = pixels(inside);
  if (pixels.channels() == 3) cv::cvtColor(pixels(inside), grey, cv::COLOR_BGR2GRAY);
  if (sharpening.moves_borders()) grey = unsharpened(grey, sharpening, 255.0 * kClipEncoded);
  patch.linear = linear_light(grey);
  return patch;
}

Straightened straighten(const Patch& patch, const SectionPlane& plane, const PlaneRange& range,
                        double step_y_mm, double step_down_mm) {
  Straightened out{{}, range.y_low, range.down_low, step_y_mm, step_down_mm};
  const int columns = static_cast<int>((range.y_high - range.y_low) / step_y_mm) + 1;
  const int rows = static_cast<int>((range.down_high - range.down_low) / step_down_mm) + 1;
  cv::Mat map(rows, columns, CV_32FC2);
  const cv::Point2f origin = patch.origin_px;
  const double y_end = out.y_mm(columns - 1);
  // Across a few cm the picture of a line bends by far less than a sample: a parabola is enough.
  for (int row = 0; row < rows; ++row) {
    const double down = out.down_mm(row);
    const Eigen::Vector2d low = plane.pixel({range.y_low, down});
    const Eigen::Vector2d middle = plane.pixel({0.5 * (range.y_low + y_end), down});
    const Eigen::Vector2d high = plane.pixel({y_end, down});
    auto* to = map.ptr<cv::Vec2f>(row);
    for (int column = 0; column < columns; ++column) {
      const double f = 2.0 * column / (columns - 1) - 1.0;
      const Eigen::Vector2d q =
          middle + 0.5 * f * (high - low) + 0.5 * f * f * (high + low - 2.0 * middle);
      to[column] = {static_cast<float>(q.x()) - origin.x, static_cast<float>(q.y()) - origin.y};
    }
  }
  cv::remap(patch.linear, out.light, map, {}, cv::INTER_LINEAR, cv::BORDER_CONSTANT, 0);
  return out;
}

std::vector<ProfileSample> band_profile(const Patch& patch, const SectionPlane& plane,
                                        const Band& band, double px_per_mm) {
  const auto along = [&](const Eigen::Vector2d& p) { return band.along_y ? p.x() : p.y(); };
  const auto across = [&](const Eigen::Vector2d& p) { return band.along_y ? p.y() : p.x(); };
  const double skew = std::abs(band.lean) * band.half_width_mm;
  std::array<Eigen::Vector2d, 4> corners;
  for (std::size_t i = 0; i < corners.size(); ++i) {
    const double a = i % 2 == 0 ? band.low_mm - skew : band.high_mm + skew;
    const double b = i < 2 ? -band.half_width_mm : band.half_width_mm;
    const Eigen::Vector2d off = band.along_y ? Eigen::Vector2d(a, b) : Eigen::Vector2d(b, a);
    corners[i] = plane.pixel(band.middle_mm + off);
  }
  Eigen::Vector2d low = corners[0], high = corners[0];
  for (const Eigen::Vector2d& corner : corners) {
    low = low.cwiseMin(corner);
    high = high.cwiseMax(corner);
  }
  const Eigen::Vector2d centre = plane.pixel(band.middle_mm);
  const double reach_px = std::max(4.0, 0.5 * (high - low).maxCoeff());
  const LocalMap map([&](const Eigen::Vector2d& q) { return plane.at(q); }, centre,
                     {reach_px, reach_px});
  const cv::Rect box = cv::Rect(cv::Point(static_cast<int>(std::floor(low.x())),
                                          static_cast<int>(std::floor(low.y()))),
                                cv::Point(static_cast<int>(std::ceil(high.x())) + 1,
                                          static_cast<int>(std::ceil(high.y())) + 1)) &
                       cv::Rect(patch.origin_px, patch.linear.size());

  ProfileBins bins(band.low_mm, band.high_mm, px_per_mm);
  for (int y = box.y; y < box.y + box.height; ++y) {
    const float* row = patch.linear.ptr<float>(y - patch.origin_px.y);
    for (int x = box.x; x < box.x + box.width; ++x) {
      const Eigen::Vector2d off = map(x, y) - band.middle_mm;
      const double beside = across(off);
      if (std::abs(beside) > band.half_width_mm) continue;
      const double t = along(off) - band.lean * beside;
      bins.add(t, row[x - patch.origin_px.x]);
    }
  }
  return bins.samples();
}

}  // namespace evenbevel::choil
