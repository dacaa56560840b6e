#include "cross_profile.hpp"

#include <cmath>

#include "drawn_step.hpp"
#include "seeded.hpp"
#include "sensor.hpp"

namespace evenbevel::test {
namespace {

constexpr double kCameraAway_mm = 300.0;

}  // namespace

edge::StripFrame CrossProfile::frame() const {
  CameraModel camera;
  camera.width_px = static_cast<int>(length_px), camera.height_px = static_cast<int>(breadth_px);
  camera.focal_px.setConstant(kPxPerMm * kCameraAway_mm);
  camera.centre_px.x() = 0.5 * (length_px - 1.0);
  camera.centre_px.y() = 0.5 * (breadth_px - 1.0) + kPxPerMm * camera_t_mm;
  Transform<Camera, Card> T_camera_card;
  T_camera_card.matrix.linear() = Eigen::Vector3d(1.0, -1.0, -1.0).asDiagonal();
  // t runs toward the card's -y.
  T_camera_card.matrix.translation() = Eigen::Vector3d(0.0, -camera_t_mm, kCameraAway_mm + edge_mm);
  return {camera, T_camera_card, edge::HeightProfile(edge_mm), 0.0};
}

edge::Light CrossProfile::light(std::mt19937_64& rng) const {
  edge::Light drawn;
  drawn.linear.create(static_cast<int>(breadth_px), static_cast<int>(length_px), CV_32FC1);
  drawn.encoded.create(drawn.linear.size(), CV_8UC1);
  for (int row = 0; row < drawn.linear.rows; ++row) {
    for (int column = 0; column < drawn.linear.cols; ++column) {
      const double s_px = column - 0.5 * (length_px - 1.0), t_px = row - 0.5 * (breadth_px - 1.0);
      double value = background + noise * normal(rng);
      for (const DrawnBorder& border : borders)
        value += border.step * drawn_step(t_px - slope * s_px - border.t_mm * kPxPerMm, blur_px);
      drawn.linear.at<float>(row, column) = static_cast<float>(value);
      drawn.encoded.at<uchar>(row, column) = cv::saturate_cast<uchar>(255.0 * srgb_code(value));
    }
  }
  return drawn;
}

edge::LaneImage CrossProfile::grey(std::mt19937_64& rng) const {
  edge::LaneImage image;
  image.grey = light(rng);
  image.flats = image.grey;
  return image;
}

}  // namespace evenbevel::test
