#include "practice_scene.hpp"

#include <cmath>
#include <optional>

#include <Eigen/LU>
#include <opencv2/aruco.hpp>
#include <opencv2/core/utility.hpp>

#include "evenbevel/units.hpp"
#include "lens.hpp"
#include "printed_card.hpp"
#include "seeded.hpp"

namespace evenbevel::test {
namespace {

constexpr float kWhiteInk = 0.62F, kBlackInk = 0.03F;
const Paint kLanePaint{0.030F, 0.110F, 0.003F};

Paint mixed(double white) {
  return grey_paint(static_cast<float>(kBlackInk + (kWhiteInk - kBlackInk) * white));
}

bool in_bar(double s, double t, double middle_s, double middle_t, double ink) {
  const double leaned = s - middle_s - std::tan(radians(10.0)) * (t - middle_t);
  return std::abs(leaned) < 0.1 + ink && std::abs(t - middle_t) < 0.3 + ink;
}

/// What the page has in the lane, by the numbers on it; empty: the lane's green.
std::optional<double> strip_white(double x, double y, double end_offset_mm, double ink) {
  const double c = std::cos(radians(1.2)), n = std::sin(radians(1.2));
  const double s = x * c + y * n, t = x * n - y * c;
  if (std::abs(s) > 108.0 || std::abs(t) > 4.6) return std::nullopt;
  if (std::abs(s) > 105.0 || std::abs(t) > 1.6 - ink) return 0.0;
  const double off = t + end_offset_mm * s / 100.0;
  if (std::abs(std::abs(off) - 0.25) < 0.1 + ink) return 0.0;
  const bool bar = in_bar(s, t, -79.7, 1.0, ink) || in_bar(s, t, -80.3, -1.0, ink);
  return bar ? 0.0 : 1.0;
}

/// Markers 900 and 901 in white squares of 10 mm.
class Marks {
 public:
  Marks() {
    const auto dictionary = cv::aruco::getPredefinedDictionary(cv::aruco::DICT_5X5_1000);
    for (const int id : {900, 901}) {
      bits_.push_back(cv::aruco::Dictionary::getBitsFromByteList(
          dictionary->bytesList.rowRange(id, id + 1), 5));
    }
  }
  std::optional<double> white(double x, double y) const {
    const double from_left = x - (x < 0.0 ? -121.0 : 121.0) + 5.0, from_top = 5.0 - y;
    if (from_left < 0.0 || from_left >= 10.0 || from_top < 0.0 || from_top >= 10.0) return {};
    const int column = static_cast<int>(std::floor((from_left - 1.25) / 7.5 * 7.0));
    const int row = static_cast<int>(std::floor((from_top - 1.25) / 7.5 * 7.0));
    if (column < 0 || row < 0 || column > 6 || row > 6) return 1.0;
    if (column == 0 || row == 0 || column == 6 || row == 6) return 0.0;
    return bits_[x < 0.0 ? 0 : 1].at<uchar>(row - 1, column - 1) != 0 ? 1.0 : 0.0;
  }

 private:
  std::vector<cv::Mat> bits_;
};

/// The page's paint at a place of the unbent, true print.
Paint paint_at(const PracticeScene& scene, const PrintedCard& grid, const Marks& marks,
               const Paints& paints, const Eigen::Vector2d& sheet_mm) {
  const double x = sheet_mm.x() / scene.print_along, y = sheet_mm.y() / scene.print_across;
  if (std::abs(x) < 130.0 && std::abs(y) < 10.0) {
    if (const auto white = marks.white(x, y)) return mixed(*white);
    if (const auto white = strip_white(x, y, scene.offset_end_mm, scene.ink_mm)) {
      return mixed(*white);
    }
    return kLanePaint;
  }
  return printed_paint(grid.at(sheet_mm.x(), sheet_mm.y()), paints).value_or(paints.table);
}

/// Where a ray from the camera meets the paper.
class Paper {
 public:
  explicit Paper(const PracticeScene& scene) : bow_mm_(scene.bow_mm) {
    const Eigen::Isometry3d T_card_camera = scene.T_camera_card.inverse().matrix;
    R_ = T_card_camera.linear();
    eye_ = T_card_camera.translation();
  }
  Eigen::Vector2d at(const Eigen::Vector2d& on_plane) const {
    const Eigen::Vector3d ray = R_ * on_plane.homogeneous();
    Eigen::Vector2d p = Eigen::Vector2d::Zero();
    for (int round = 0; round < (bow_mm_ == 0.0 ? 1 : 4); ++round) {
      const double z = bow_mm_ * (1.0 - p.x() * p.x() / (130.0 * 130.0));
      p = (eye_ + (z - eye_.z()) / ray.z() * ray).head<2>();
      if (bow_mm_ == 0.0) p = (eye_ - eye_.z() / ray.z() * ray).head<2>();
    }
    return p;
  }

 private:
  double bow_mm_;
  Eigen::Matrix3d R_;
  Eigen::Vector3d eye_;
};

/// A pixel whose corners see one paint sees it all over: nothing on the page is smaller.
template <int samples, class Seen>
cv::Vec3f mean_of_pixel(const Seen& seen) {
  constexpr int last = samples - 1;
  const cv::Vec3f first = seen(0, 0);
  if (first == seen(last, 0) && first == seen(0, last) && first == seen(last, last)) return first;
  cv::Vec3f sum(0.0F, 0.0F, 0.0F);
  for (int j = 0; j < samples; ++j) {
    for (int i = 0; i < samples; ++i) sum += seen(i, j);
  }
  return sum * (1.0F / (samples * samples));
}

void draw_rows(const PracticeScene& scene, const PrintedCard& grid, const Marks& marks,
               const cv::Range& rows, cv::Mat& light) {
  constexpr int kSamples = 4;  // a side
  const Paints paints;
  const Paper paper(scene);
  const CameraModel& camera = scene.camera;
  for (int y = rows.start; y < rows.end; ++y) {
    for (int x = 0; x < light.cols; ++x) {
      Eigen::Matrix2d J;
      const Eigen::Vector2d start((x - camera.centre_px.x()) / camera.focal_px.x(),
                                  (y - camera.centre_px.y()) / camera.focal_px.y());
      const Eigen::Vector2d centre = lens_plane(camera, {x, y}, start, 4, &J);
      const auto seen = [&](int i, int j) {
        const Eigen::Vector2d in_pixel((i + 0.5) / kSamples - 0.5, (j + 0.5) / kSamples - 0.5);
        const Paint paint = paint_at(scene, grid, marks, paints, paper.at(centre + J * in_pixel));
        return cv::Vec3f(paint.b, paint.g, paint.r);
      };
      const double bright = 1.0 + 0.01 * scene.light_slope.dot(paper.at(centre));
      light.at<cv::Vec3f>(y, x) = mean_of_pixel<kSamples>(seen) * static_cast<float>(bright);
    }
  }
}

}  // namespace

PracticeScene random_practice_scene(std::mt19937_64& rng) {
  PracticeScene scene;
  CameraModel& camera = scene.camera;
  camera.width_px = 3264;
  camera.height_px = 1836;
  const double focal = uniform(rng, 2350.0, 2650.0);
  camera.focal_px = {focal, focal * uniform(rng, 0.9995, 1.0005)};
  camera.centre_px = {1631.5 + uniform(rng, -25.0, 25.0), 917.5 + uniform(rng, -25.0, 25.0)};
  camera.lens = Lens("pinhole", {uniform(rng, -0.08, 0.08), uniform(rng, -0.05, 0.05),
                                 uniform(rng, -3e-4, 3e-4), uniform(rng, -3e-4, 3e-4), 0.0});
  const double turn = uniform(rng, -0.06, 0.06) + (uniform(rng, 0.0, 1.0) < 0.3 ? kPi : 0.0);
  const double toward = uniform(rng, -kPi, kPi), tilt = radians(uniform(rng, 0.5, 12.0));
  const Eigen::Matrix3d facing = Eigen::Vector3d(1.0, -1.0, -1.0).asDiagonal();
  Eigen::Isometry3d& pose = scene.T_camera_card.matrix;
  pose = Eigen::Isometry3d::Identity();
  pose.linear() =
      Eigen::AngleAxisd(tilt, Eigen::Vector3d(std::cos(toward), std::sin(toward), 0.0)) *
      Eigen::AngleAxisd(turn, Eigen::Vector3d::UnitZ()).toRotationMatrix() * facing;
  pose.translation() = Eigen::Vector3d(uniform(rng, -6.0, 6.0), uniform(rng, -12.0, 12.0),
                                       focal * uniform(rng, 0.096, 0.115));
  scene.light_slope = {uniform(rng, -0.25, 0.25), uniform(rng, -0.4, 0.4)};
  scene.bow_mm = uniform(rng, -0.12, 0.12);
  scene.print_along = 1.0 + uniform(rng, -0.0015, 0.0015);
  scene.print_across = 1.0 + uniform(rng, -0.0015, 0.0015);
  return scene;
}

Imaging random_practice_imaging(std::mt19937_64& rng) {
  Imaging imaging{.blur_px = uniform(rng, 0.6, 1.2),
                  .exposure = uniform(rng, 0.6, 1.15),
                  .read_noise = 0.002,
                  .shot_noise = uniform(rng, 0.003, 0.008)};
  imaging.sharpen = uniform(rng, 0.0, 0.6);
  imaging.jpeg = 88;
  if (uniform(rng, 0.0, 1.0) < 1.0 / 3.0) imaging.phone = PhoneChain{};
  return imaging;
}

Photo practice_photo(const PracticeScene& scene, const Imaging& imaging, std::mt19937_64& rng) {
  SetUp print;
  print.print_along = scene.print_along;
  print.print_across = scene.print_across;
  const PrintedCard grid(print);
  const Marks marks;
  cv::Mat light(scene.camera.height_px, scene.camera.width_px, CV_32FC3);
  cv::parallel_for_(cv::Range(0, light.rows),
                    [&](const cv::Range& rows) { draw_rows(scene, grid, marks, rows, light); });
  Photo photo;
  photo.name = "practice";
  photo.pixels = take_picture({light, 0.0}, imaging, rng);
  return photo;
}

}  // namespace evenbevel::test
