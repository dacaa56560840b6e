#include "calibrate/start.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <vector>

#include <Eigen/SVD>
#include <opencv2/calib3d.hpp>
#include <opencv2/core.hpp>

namespace evenbevel::calibrate_detail {

namespace {

/// What one view says of 1 / f^2: the least-squares solution of a * x = b (two equations).
struct FocalClue {
  double inverse_square = 0.0;
  double strength = 0.0;
};

FocalClue focal_clue(const Eigen::Matrix3d& H) {
  const Eigen::Vector3d h1 = H.col(0) / H.col(0).norm();
  const Eigen::Vector3d h2 = H.col(1) / H.col(0).norm();
  // Columns of K^-1 H are square to each other and equally long.
  const Eigen::Vector2d a(h1.x() * h2.x() + h1.y() * h2.y(),
                          h1.head<2>().squaredNorm() - h2.head<2>().squaredNorm());
  const Eigen::Vector2d b(-h1.z() * h2.z(), h2.z() * h2.z() - h1.z() * h1.z());
  const double strength = a.squaredNorm();
  return {strength > 0.0 ? a.dot(b) / strength : 0.0, strength};
}

double weighted_median(std::vector<FocalClue> clues) {
  std::sort(clues.begin(), clues.end(), [](const FocalClue& left, const FocalClue& right) {
    return left.inverse_square < right.inverse_square;
  });
  const double half =
      0.5 * std::accumulate(clues.begin(), clues.end(), 0.0,
                            [](double sum, const FocalClue& c) { return sum + c.strength; });
  double sum = 0.0;
  for (const FocalClue& clue : clues) {
    sum += clue.strength;
    if (sum >= half) return clue.inverse_square;
  }
  return 0.0;
}

}  // namespace

std::optional<Eigen::Matrix3d> board_homography(const CalibrationView& view) {
  std::vector<cv::Point2d> from;
  std::vector<cv::Point2d> to;
  for (std::size_t i = 0; i < view.points_px.size(); ++i) {
    from.emplace_back(view.points_mm[i].x(), view.points_mm[i].y());
    to.emplace_back(view.points_px[i].x(), view.points_px[i].y());
  }
  if (from.size() < 4) return std::nullopt;
  cv::Mat H = cv::findHomography(from, to, cv::LMEDS);
  if (H.empty()) H = cv::findHomography(from, to, 0);
  if (H.empty() || !cv::checkRange(H)) return std::nullopt;
  Eigen::Matrix3d result;
  for (int r = 0; r < 3; ++r) {
    for (int c = 0; c < 3; ++c) result(r, c) = H.at<double>(r, c);
  }
  // Corners on one line give a matrix that flattens the board.
  const Eigen::Vector2d middle = view.points_mm.front();
  const Eigen::Vector3d image = result * middle.homogeneous();
  Eigen::Matrix2d local;
  for (int c = 0; c < 2; ++c) {
    local.col(c) =
        (result.col(c).head<2>() - image.head<2>() / image.z() * result(2, c)) / image.z();
  }
  const Eigen::Vector2d stretch = Eigen::JacobiSVD<Eigen::Matrix2d>(local).singularValues();
  if (!(stretch(1) > 1e-3 * stretch(0))) return std::nullopt;
  return result;
}

std::optional<double> focal_length_px(std::span<const Eigen::Matrix3d> homographies,
                                      cv::Size image_size) {
  const double longest = std::max(image_size.width, image_size.height);
  Eigen::Matrix3d to_centre = Eigen::Matrix3d::Identity();
  to_centre(0, 2) = -0.5 * (image_size.width - 1);
  to_centre(1, 2) = -0.5 * (image_size.height - 1);
  std::vector<FocalClue> clues;
  for (const Eigen::Matrix3d& H : homographies) clues.push_back(focal_clue(to_centre * H));
  const double inverse_square = weighted_median(clues);
  if (!(inverse_square > 0.0)) return std::nullopt;
  const double focal_px = 1.0 / std::sqrt(inverse_square);
  const bool believable = focal_px > 0.3 * longest && focal_px < 20.0 * longest;
  return believable ? std::optional(focal_px) : std::nullopt;
}

CalibrationView straightened(const CameraModel& camera, std::span<const Point<Card>> points,
                             std::span<const Eigen::Vector2d> points_px) {
  constexpr double kFarthest = 2.0;  // Tangent of 63 degrees: beyond it a px is several of them.
  CalibrationView view;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const std::optional<Eigen::Vector2d> straight =
        camera.lens.model().straighten(camera.lens.values(), on_unbent_plane(camera, points_px[i]));
    if (!straight || straight->norm() > kFarthest) continue;
    view.points_mm.emplace_back(points[i].mm.head<2>());
    view.points_px.emplace_back(camera.focal_px.cwiseProduct(*straight) + camera.centre_px);
  }
  return view;
}

Transform<Camera, Card> pose_from_homography(const Eigen::Matrix3d& homography, double focal_px,
                                             const Eigen::Vector2d& centre_px) {
  Eigen::Matrix3d K_inverse = Eigen::Matrix3d::Identity();
  K_inverse(0, 0) = K_inverse(1, 1) = 1.0 / focal_px;
  K_inverse.block<2, 1>(0, 2) = -centre_px / focal_px;
  Eigen::Matrix3d M = K_inverse * homography;
  M /= std::sqrt(M.col(0).norm() * M.col(1).norm());
  if (M(2, 2) < 0.0) M = -M;
  Eigen::Matrix3d axes;
  axes << M.col(0), M.col(1), M.col(0).cross(M.col(1));
  const Eigen::JacobiSVD<Eigen::Matrix3d> svd(axes, Eigen::ComputeFullU | Eigen::ComputeFullV);
  Transform<Camera, Card> pose;
  pose.matrix.linear() = svd.matrixU() * svd.matrixV().transpose();
  pose.matrix.translation() = M.col(2);
  return pose;
}

Transform<Camera, Card> mirrored_pose(const Transform<Camera, Card>& T_camera_card,
                                      const Point<Card>& centre) {
  const Eigen::Vector3d seen = (T_camera_card * centre).mm;
  const Eigen::Vector3d sight = seen.normalized();
  const Eigen::Vector3d normal = T_camera_card.matrix.linear().col(2);
  const Eigen::Vector3d mirrored = 2.0 * normal.dot(sight) * sight - normal;
  Transform<Camera, Card> result;
  result.matrix.linear() = Eigen::Quaterniond::FromTwoVectors(normal, mirrored).toRotationMatrix() *
                           T_camera_card.matrix.linear();
  result.matrix.translation() = seen - result.matrix.linear() * centre.mm;
  return result;
}

}  // namespace evenbevel::calibrate_detail
