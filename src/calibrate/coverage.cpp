#include <algorithm>

#include "evenbevel/calibrate.hpp"

namespace evenbevel {

double CalibrationCoverage::share() const {
  const auto seen = std::count_if(corners.begin(), corners.end(), [](int n) { return n > 0; });
  return static_cast<double>(seen) / static_cast<double>(corners.size());
}

void add_coverage(CalibrationCoverage& coverage, std::span<const Eigen::Vector2d> points_px,
                  cv::Size image_size) {
  for (const Eigen::Vector2d& q : points_px) {
    const auto cell = [](double at_px, int size_px, int cells) {
      return std::clamp(static_cast<int>((at_px + 0.5) / size_px * cells), 0, cells - 1);
    };
    const int column = cell(q.x(), image_size.width, CalibrationCoverage::kColumns);
    const int row = cell(q.y(), image_size.height, CalibrationCoverage::kRows);
    ++coverage.at(row, column);
  }
}

}  // namespace evenbevel
