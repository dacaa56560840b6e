#include "card_photo.hpp"

#include <cmath>

#include <Eigen/LU>
#include <opencv2/core/utility.hpp>

#include "board_scene.hpp"
#include "evenbevel/units.hpp"
#include "independent_cards.hpp"
#include "lens.hpp"
#include "seeded.hpp"

namespace evenbevel::test {
namespace {

constexpr float kWhite = 0.62F, kBlack = 0.03F, kTable = 0.2F, kGreen = 0.09F, kCover = 0.25F;
constexpr double kRim_mm = 12.0;

/// Light of the print at nominal card mm.
class Print {
 public:
  explicit Print(CardKind kind) : card_(independent_card(kind)) {
    bits_.resize(static_cast<std::size_t>(card_.columns * card_.rows));
    for (const IndependentCard::Marker& marker : card_.markers) {
      bits_[index(marker.cell.column, marker.cell.row)] = marker.bits;
    }
  }

  float at(const Eigen::Vector2d& p_mm) const {
    const double across = p_mm.x() / card_.pitch_mm + 0.5 * card_.columns;
    const double down = 0.5 * card_.rows - p_mm.y() / card_.pitch_mm;
    const double rim = kRim_mm / card_.pitch_mm;
    if (across < -rim || down < -rim || across > card_.columns + rim || down > card_.rows + rim) {
      return kTable;
    }
    const int column = static_cast<int>(std::floor(across));
    const int row = static_cast<int>(std::floor(down));
    if (column < 0 || row < 0 || column >= card_.columns || row >= card_.rows) return kWhite;
    switch (card_.cells[static_cast<std::size_t>(row)][static_cast<std::size_t>(column)]) {
      case 'B':
        return kBlack;
      case 'G':
        return kGreen;
      default:
        return marker(bits_[index(column, row)], across - column, down - row);
    }
  }

 private:
  std::size_t index(int column, int row) const {
    return static_cast<std::size_t>(row * card_.columns + column);
  }

  // Place in the cell, 0 to 1. The marker is 7 modules in the middle 3/4.
  static float marker(const std::string& bits, double x, double y) {
    const int column = static_cast<int>(std::floor((x - 0.125) / 0.75 * 7.0));
    const int row = static_cast<int>(std::floor((y - 0.125) / 0.75 * 7.0));
    if (column < 0 || row < 0 || column > 6 || row > 6) return kWhite;
    if (column == 0 || row == 0 || column == 6 || row == 6) return kBlack;
    return bits[static_cast<std::size_t>(5 * (row - 1) + column - 1)] == '1' ? kWhite : kBlack;
  }

  IndependentCard card_;
  std::vector<std::string> bits_;
};

/// Plane (x, y, 1) of the printed card to the camera.
Eigen::Matrix3d plane_of(const CardScene& scene) {
  Eigen::Matrix3d plane;
  plane << scene.T_camera_card.matrix.linear().leftCols<2>(),
      scene.T_camera_card.matrix.translation();
  return plane;
}

/// What one pixel sees: a parallelogram of the plane z = 1, and from there the card.
struct PixelView {
  const CardScene& scene;
  const Print& print;
  const Eigen::Matrix3d& to_card;
  Eigen::Vector2d middle;
  Eigen::Matrix2d d_pixel;

  float light(double x_px, double y_px) const {
    const Eigen::Vector3d p =
        to_card * (middle + d_pixel * Eigen::Vector2d(x_px, y_px)).homogeneous();
    const Eigen::Vector2d p_mm = p.hnormalized();
    if (scene.hidden_mm.contains(p_mm)) return kCover;
    return print.at({p_mm.x() / scene.print_along, p_mm.y() / scene.print_across});
  }

  // 34 points of a Fibonacci lattice: 34 different places along either side of the pixel.
  float mean_light() const {
    constexpr int kPoints = 34, kStep = 21;
    const float middle_light = light(0.0, 0.0);
    bool even = true;
    for (const double x : {-0.5, 0.5}) {
      for (const double y : {-0.5, 0.5}) even = even && light(x, y) == middle_light;
    }
    if (even) return middle_light;
    float sum = 0.0F;
    for (int k = 0; k < kPoints; ++k) {
      sum += light((k + 0.5) / kPoints - 0.5, (k * kStep % kPoints + 0.5) / kPoints - 0.5);
    }
    return sum / kPoints;
  }
};

void draw_row(const CardScene& scene, const Print& print, const Eigen::Matrix3d& to_card, int y,
              float* row) {
  PixelView view{scene, print, to_card, Eigen::Vector2d::Zero(), Eigen::Matrix2d::Identity()};
  view.middle = {-scene.camera.centre_px.x() / scene.camera.focal_px.x(),
                 (y - scene.camera.centre_px.y()) / scene.camera.focal_px.y()};
  for (int x = 0; x < scene.camera.width_px; ++x) {
    view.middle =
        lens_plane(scene.camera, Eigen::Vector2d(x, y), view.middle, x == 0 ? 8 : 2, &view.d_pixel);
    row[x] = view.mean_light();
  }
}

}  // namespace

cv::Mat photo_of(const CardScene& scene, const Imaging& imaging, std::mt19937_64& rng) {
  const Print print(scene.kind);
  const Eigen::Matrix3d to_card = plane_of(scene).inverse();
  Light light;
  light.pixels.create(scene.camera.height_px, scene.camera.width_px, CV_32FC1);
  cv::parallel_for_(cv::Range(0, light.pixels.rows), [&](const cv::Range& rows) {
    for (int y = rows.start; y < rows.end; ++y) {
      draw_row(scene, print, to_card, y, light.pixels.ptr<float>(y));
    }
  });
  return take_picture(light, imaging, rng);
}

Eigen::Vector2d pixel_of(const CardScene& scene, const Eigen::Vector2d& nominal_mm) {
  const Eigen::Vector3d p =
      plane_of(scene) *
      Eigen::Vector3d(nominal_mm.x() * scene.print_along, nominal_mm.y() * scene.print_across, 1.0);
  return lens_pixel(scene.camera, p.hnormalized());
}

CardScene random_card_scene(CardKind kind, std::mt19937_64& rng) {
  const CardLayout& card = card_layout(kind);
  CardScene scene;
  scene.kind = kind;
  scene.camera = true_camera();
  // As far as lets the grid fill 0.9 to 0.75 of the picture's width or height.
  const double nearest_mm =
      std::max(card.columns * card.pitch_mm * scene.camera.focal_px.x() / scene.camera.width_px,
               card.rows * card.pitch_mm * scene.camera.focal_px.y() / scene.camera.height_px);
  const double distance_mm = nearest_mm / uniform(rng, 0.75, 0.9);
  const double toward = uniform(rng, -kPi, kPi);
  const double tilt = radians(uniform(rng, 0.0, 30.0));
  const double turn = radians(uniform(rng, -8.0, 8.0));
  const Eigen::Matrix3d facing = Eigen::Vector3d(1.0, -1.0, -1.0).asDiagonal();
  scene.T_camera_card.matrix.linear() =
      Eigen::AngleAxisd(tilt, Eigen::Vector3d(std::cos(toward), std::sin(toward), 0.0)) *
      Eigen::AngleAxisd(turn, Eigen::Vector3d::UnitZ()).toRotationMatrix() * facing;
  const double aside_x = uniform(rng, -0.02, 0.02);
  const double aside_y = uniform(rng, -0.02, 0.02);
  scene.T_camera_card.matrix.translation() = distance_mm * Eigen::Vector3d(aside_x, aside_y, 1.0);
  return scene;
}

}  // namespace evenbevel::test
