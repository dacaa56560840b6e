#include "bent_card.hpp"

#include <cmath>

#include <opencv2/core.hpp>

#include "printed_card.hpp"

namespace evenbevel::test {
namespace {

constexpr double kFlatRadius_mm = 1e7;

/// Of a cylinder whose arc of `length` rises by `sag`, by bisection: sag = r (1 - cos(l / 2r)).
double radius_mm(double sag_mm, double length_mm) {
  if (std::abs(sag_mm) < 1e-6) return kFlatRadius_mm;
  double low = length_mm / 3.2, high = kFlatRadius_mm;
  for (int step = 0; step < 200; ++step) {
    const double middle = 0.5 * (low + high);
    const double sag = middle * (1.0 - std::cos(0.5 * length_mm / middle));
    (sag > std::abs(sag_mm) ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

/// Place on the sheet, before it was bent, that a ray meets. Card frame.
class BentSheet {
 public:
  BentSheet(const Transform<Camera, Card>& T_camera_card, const CardBend& bend)
      : along_(bend.along),
        radius_(radius_mm(bend.sag_mm, bend.length_mm)),
        centre_z_(bend.sag_mm < 0.0 ? radius_ : -radius_) {
    const Eigen::Isometry3d T_card_camera = T_camera_card.inverse().matrix;
    R_ = T_card_camera.linear();
    origin_ = T_card_camera.translation();
  }

  Eigen::Vector2d at(const Eigen::Vector2d& on_plane) const {
    const Eigen::Vector3d d = R_ * on_plane.homogeneous();
    const Eigen::Vector3d& o = origin_;
    const double across = along_ ? d.x() : d.y(), from = along_ ? o.x() : o.y();
    // (from + t across)^2 + (o.z + t d.z - c)^2 = r^2, the root near the plane z = 0.
    const double up = o.z() - centre_z_;
    const double a = across * across + d.z() * d.z();
    const double b = from * across + up * d.z();
    const double c = from * from + up * up - radius_ * radius_;
    const double root = std::sqrt(std::max(0.0, b * b - a * c));
    // c / (...) rather than a difference of two large numbers.
    const double first = c / (-b + root), second = (-b + root) / a;
    const double flat = -o.z() / d.z();
    const double t = std::abs(first - flat) < std::abs(second - flat) ? first : second;
    const double arc = radius_ * std::asin(std::clamp((from + t * across) / radius_, -1.0, 1.0));
    return along_ ? Eigen::Vector2d(arc, o.y() + t * d.y())
                  : Eigen::Vector2d(o.x() + t * d.x(), arc);
  }

 private:
  bool along_;
  double radius_, centre_z_;
  Eigen::Matrix3d R_;
  Eigen::Vector3d origin_;
};

}  // namespace

Light render_bent_card(const CameraModel& camera, const Transform<Camera, Card>& T_camera_card,
                       const CardBend& bend) {
  constexpr int kAcross = 4;  // samples a pixel, each way
  const SetUp set_up;
  const Paints paints;
  const PrintedCard print(set_up);
  const BentSheet sheet(T_camera_card, bend);
  cv::Mat light(camera.height_px, camera.width_px, CV_32FC3);
  const auto paint_at = [&](double x_px, double y_px) {
    const Eigen::Vector2d p = sheet.at({(x_px - camera.centre_px.x()) / camera.focal_px.x(),
                                        (y_px - camera.centre_px.y()) / camera.focal_px.y()});
    return printed_paint(print.at(p.x(), p.y()), paints).value_or(paints.table);
  };
  for (int row = 0; row < light.rows; ++row) {
    for (int column = 0; column < light.cols; ++column) {
      cv::Vec3f sum(0.0F, 0.0F, 0.0F);
      for (int i = 0; i < kAcross * kAcross; ++i) {
        const Paint paint = paint_at(column - 0.5 + (i % kAcross + 0.5) / kAcross,
                                     row - 0.5 + (i / kAcross + 0.5) / kAcross);
        sum += cv::Vec3f(paint.b, paint.g, paint.r);
      }
      light.at<cv::Vec3f>(row, column) = sum * (1.0F / (kAcross * kAcross));
    }
  }
  return {light, 0.0};
}

}  // namespace evenbevel::test
