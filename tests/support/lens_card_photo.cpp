#include "lens_card_photo.hpp"

#include <array>
#include <cmath>
#include <vector>

#include <Eigen/LU>
#include <opencv2/aruco.hpp>

#include "lens.hpp"

namespace evenbevel::test {
namespace {

constexpr int kColumns = 13;
constexpr int kRows = 9;
constexpr double kPitch_mm = 20.0;
constexpr int kModules = 7;  ///< Of a marker, its black border included.
constexpr float kWhite = 0.62F;
constexpr float kBlack = 0.03F;
constexpr float kTable = 0.2F;

/// Markers of the white cells, row by row; true: white.
std::vector<cv::Mat> marker_bits() {
  const cv::Ptr<cv::aruco::Dictionary> dictionary =
      cv::aruco::getPredefinedDictionary(cv::aruco::DICT_5X5_1000);
  std::vector<cv::Mat> bits;
  for (int id = 0; id < kColumns * kRows / 2; ++id) {
    bits.push_back(
        cv::aruco::Dictionary::getBitsFromByteList(dictionary->bytesList.rowRange(id, id + 1), 5));
  }
  return bits;
}

float light_at(const std::vector<cv::Mat>& bits, const Eigen::Vector2d& card_mm) {
  if (std::abs(card_mm.x()) > 148.5 || std::abs(card_mm.y()) > 105.0) return kTable;
  const double across = card_mm.x() / kPitch_mm + 0.5 * kColumns;
  const double down = 0.5 * kRows - card_mm.y() / kPitch_mm;
  const int column = static_cast<int>(std::floor(across));
  const int row = static_cast<int>(std::floor(down));
  if (column < 0 || column >= kColumns || row < 0 || row >= kRows) return kWhite;
  if ((column + row) % 2 == 0) return kBlack;
  // An odd number of cells a row: white cells in reading order are every second cell.
  const cv::Mat& marker = bits[static_cast<std::size_t>((row * kColumns + column) / 2)];
  const int c = static_cast<int>(std::floor(((across - column) - 0.125) / 0.75 * kModules));
  const int r = static_cast<int>(std::floor(((down - row) - 0.125) / 0.75 * kModules));
  if (c < 0 || c >= kModules || r < 0 || r >= kModules) return kWhite;
  if (c == 0 || c == kModules - 1 || r == 0 || r == kModules - 1) return kBlack;
  return marker.at<uchar>(r - 1, c - 1) != 0 ? kWhite : kBlack;
}

/// Where on the plane z = 1 the nodes of a coarse net of pixels look; between them the lens is
/// smooth enough to go straight.
class LensNet {
 public:
  explicit LensNet(const CameraModel& camera) : columns_(camera.width_px / kMesh + 3) {
    const int rows = camera.height_px / kMesh + 3;
    for (int r = 0; r < rows; ++r) {
      for (int c = 0; c < columns_; ++c) {
        const Eigen::Vector2d q((c - 1) * kMesh, (r - 1) * kMesh);
        const Eigen::Vector2d straight((q.x() - camera.centre_px.x()) / camera.focal_px.x(),
                                       (q.y() - camera.centre_px.y()) / camera.focal_px.y());
        nodes_.push_back(lens_plane(camera, q, straight, 8));
      }
    }
  }

  Eigen::Vector2d at(double x_px, double y_px) const {
    const double u = x_px / kMesh + 1.0;
    const double v = y_px / kMesh + 1.0;
    const int c = static_cast<int>(u);
    const int r = static_cast<int>(v);
    const double fu = u - c;
    const double fv = v - r;
    const auto* top = &nodes_[static_cast<std::size_t>(r * columns_ + c)];
    const auto* bottom = top + columns_;
    return (1.0 - fv) * ((1.0 - fu) * top[0] + fu * top[1]) +
           fv * ((1.0 - fu) * bottom[0] + fu * bottom[1]);
  }

 private:
  static constexpr int kMesh = 4;
  int columns_;
  std::vector<Eigen::Vector2d> nodes_;
};

}  // namespace

Light lens_card_light(const CameraModel& camera, const Eigen::Isometry3d& T_camera_card) {
  constexpr int kSamples = 3;  // a side, spread evenly over the pixel
  const std::vector<cv::Mat> bits = marker_bits();
  const LensNet net(camera);
  // The card's plane: (x, y, 1) -> camera, so the inverse takes a ray to the card.
  Eigen::Matrix3d plane;
  plane << T_camera_card.linear().col(0), T_camera_card.linear().col(1),
      T_camera_card.translation();
  const Eigen::Matrix3d to_card = plane.inverse();
  Light light;
  light.pixels.create(camera.height_px, camera.width_px, CV_32FC1);
  for (int y = 0; y < camera.height_px; ++y) {
    auto* row = light.pixels.ptr<float>(y);
    for (int x = 0; x < camera.width_px; ++x) {
      float sum = 0.0F;
      for (int k = 0; k < kSamples * kSamples; ++k) {
        const double dx = (k % kSamples + 0.5) / kSamples - 0.5;
        const double dy = (k / kSamples + 0.5) / kSamples - 0.5;
        const Eigen::Vector3d p = to_card * net.at(x + dx, y + dy).homogeneous();
        // Beyond the plane's horizon, as a wide lens sees it, there is no card.
        sum += p.z() > 0.0 ? light_at(bits, p.hnormalized()) : kTable;
      }
      row[x] = sum / (kSamples * kSamples);
    }
  }
  return light;
}

}  // namespace evenbevel::test
