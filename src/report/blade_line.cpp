#include "report/blade_line.hpp"

#include <cmath>

#include <Eigen/LU>
#include <Eigen/QR>
#include <opencv2/imgproc.hpp>

#include "report/display.hpp"
#include "report/edge_quantities.hpp"
#include "report/picture_page.hpp"

namespace evenbevel {
namespace {

std::vector<const EdgeStation*> seen_stations(const EdgeResult& result) {
  std::vector<const EdgeStation*> seen;
  for (const EdgeStation& station : result.stations) {
    if (measured(station.centreline_offset_mm) && station.px.allFinite()) seen.push_back(&station);
  }
  return seen;
}

}  // namespace

BladeLine::Cubic BladeLine::fitted(const std::vector<Eigen::Vector2d>& points, int degree) {
  const auto rows = static_cast<Eigen::Index>(points.size());
  Eigen::MatrixXd powers(rows, degree + 1);
  Eigen::VectorXd values(rows);
  for (Eigen::Index i = 0; i < rows; ++i) {
    const Eigen::Vector2d& p = points[static_cast<std::size_t>(i)];
    double power = 1.0;
    for (Eigen::Index k = 0; k <= degree; ++k, power *= p.x()) powers(i, k) = power;
    values(i) = p.y();
  }
  const Eigen::VectorXd solution = powers.colPivHouseholderQr().solve(values);
  Cubic cubic{};
  for (Eigen::Index k = 0; k <= degree; ++k) cubic[static_cast<std::size_t>(k)] = solution(k);
  return cubic;
}

std::optional<BladeLine> BladeLine::through(const EdgeResult& result, const Photo& photo) {
  constexpr std::size_t kLeast = 3;
  const std::vector<const EdgeStation*> seen = seen_stations(result);
  if (seen.size() < kLeast) return std::nullopt;
  const Eigen::Matrix2d upright = to_upright(photo);
  const Eigen::Vector2d to_tip_px = upright * (seen.back()->px - seen.front()->px);
  if (to_tip_px.norm() < 1.0) return std::nullopt;

  BladeLine line;
  const Eigen::Vector2d right = to_tip_px.normalized();
  Eigen::Matrix2d level;
  level << right.x(), right.y(), -right.y(), right.x();
  line.turn_ = level * upright;
  line.origin_px_ = 0.5 * (seen.front()->px + seen.back()->px);
  line.length_px_ = to_tip_px.norm();

  std::vector<Eigen::Vector2d> across;
  std::vector<Eigen::Vector2d> s_of_x;
  std::vector<Eigen::Vector2d> x_of_s;
  for (const EdgeStation* station : seen) {
    const Eigen::Vector2d strip = line.turn_ * (station->px - line.origin_px_);
    across.emplace_back(strip.x() / line.length_px_, strip.y());
    s_of_x.emplace_back(station->x_mm, strip.x());
    x_of_s.emplace_back(strip.x(), station->x_mm);
  }
  const bool many = seen.size() >= 4 * kLeast;
  line.bend_ = fitted(across, many ? 3 : 1);
  line.s_of_x_ = fitted(s_of_x, many ? 2 : 1);
  line.x_of_s_ = fitted(x_of_s, many ? 2 : 1);
  return line;
}

Eigen::Vector2d BladeLine::strip_of(const Eigen::Vector2d& stored_px) const {
  Eigen::Vector2d strip = turn_ * (stored_px - origin_px_);
  strip.y() -= bend(strip.x());
  return strip;
}

Eigen::Vector2d BladeLine::stored_of(const Eigen::Vector2d& strip_px) const {
  const Eigen::Vector2d level(strip_px.x(), strip_px.y() + bend(strip_px.x()));
  return origin_px_ + turn_.transpose() * level;
}

cv::Mat BladeLine::strip(const cv::Mat& stored, double s_from, double t_from, cv::Size size) const {
  cv::Mat map(size, CV_32FC2);
  const Eigen::Vector2d down = turn_.transpose().col(1);
  for (int j = 0; j < size.width; ++j) {
    const Eigen::Vector2d top = stored_of({s_from + j, t_from});
    for (int i = 0; i < size.height; ++i) {
      const Eigen::Vector2d q = top + i * down;
      map.at<cv::Vec2f>(i, j) = {static_cast<float>(q.x()), static_cast<float>(q.y())};
    }
  }
  cv::Mat strip;
  cv::remap(stored, strip, map, cv::noArray(), cv::INTER_CUBIC, cv::BORDER_CONSTANT,
            cv::Scalar::all(0));
  return to_bgr8(strip);
}

}  // namespace evenbevel
