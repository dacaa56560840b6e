#include "report/display.hpp"

namespace evenbevel {

Eigen::Matrix2d to_upright(const Photo& photo) {
  const cv::Size size = photo.pixels.size();
  const auto at = [&](double x, double y) {
    return upright_point({x, y}, size, photo.orientation);
  };
  const cv::Point2d zero = at(0, 0);
  const cv::Point2d x = at(1, 0) - zero;
  const cv::Point2d y = at(0, 1) - zero;
  Eigen::Matrix2d linear;
  linear << x.x, y.x, x.y, y.y;
  return linear;
}

}  // namespace evenbevel
