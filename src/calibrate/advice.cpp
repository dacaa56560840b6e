#include <algorithm>
#include <array>
#include <cmath>
#include <string>
#include <utility>

#include "evenbevel/calibrate.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel {

namespace {

constexpr int kWanted = 10;            ///< Photos; common practice, no source.
constexpr double kSteepEnough = 20.0;  ///< Degrees.

/// The corners seen in one of the nine parts of the picture.
int corners_in(const CalibrationCoverage& coverage, int third_column, int third_row) {
  constexpr int kWide = CalibrationCoverage::kColumns / 3;
  constexpr int kHigh = CalibrationCoverage::kRows / 3;
  int sum = 0;
  for (int row = third_row * kHigh; row < (third_row + 1) * kHigh; ++row) {
    for (int column = third_column * kWide; column < (third_column + 1) * kWide; ++column) {
      sum += coverage.at(row, column);
    }
  }
  return sum;
}

std::string part_name(int third_column, int third_row) {
  static const char* const kNames[3][3] = {
      {"upper left corner", "upper middle", "upper right corner"},
      {"left side", "centre", "right side"},
      {"lower left corner", "lower middle", "lower right corner"}};
  return kNames[third_row][third_column];
}

std::string listed(const std::vector<std::string>& names) {
  std::string text;
  for (std::size_t i = 0; i < names.size(); ++i) {
    if (i > 0) text += i + 1 == names.size() ? " and the " : ", the ";
    text += names[i];
  }
  return text;
}

void advise_on_tilt(const std::vector<CalibratedView>& views, std::vector<Remark>& advice) {
  const auto steep = std::count_if(views.begin(), views.end(), [](const CalibratedView& view) {
    return degrees(view.tilt_rad) >= kSteepEnough;
  });
  double steepest = 0.0;
  for (const CalibratedView& view : views) steepest = std::max(steepest, degrees(view.tilt_rad));
  if (steep >= 3) return;
  advice.push_back(remark<RemarkCode::tilt_more>(steep, views.size(), kSteepEnough, steepest));
}

/// Tilts in one direction only leave the principal point loose along it.
void advise_on_directions(const std::vector<CalibratedView>& views, std::vector<Remark>& advice) {
  Eigen::Matrix2d scatter = Eigen::Matrix2d::Zero();
  for (const CalibratedView& view : views) {
    const Eigen::Vector2d lean = view.T_camera_card.matrix.linear().col(2).head<2>();
    scatter += lean * lean.transpose();
  }
  const double trace = scatter.trace();
  const double half_gap = std::hypot(0.5 * (scatter(0, 0) - scatter(1, 1)), scatter(0, 1));
  const double widest = std::sqrt(0.5 * trace + half_gap);
  const double narrowest = std::sqrt(std::max(0.0, 0.5 * trace - half_gap));
  if (widest <= 0.0 || narrowest > 0.25 * widest) return;
  advice.push_back(remark<RemarkCode::all_lean_alike>());
}

void advise_on_distance(const std::vector<CalibratedView>& views, std::vector<Remark>& advice) {
  const auto [nearest, farthest] = std::minmax_element(
      views.begin(), views.end(), [](const CalibratedView& a, const CalibratedView& b) {
        return a.distance_mm < b.distance_mm;
      });
  if (nearest == views.end() || farthest->distance_mm > 1.25 * nearest->distance_mm) return;
  advice.push_back(remark<RemarkCode::one_distance>(nearest->distance_mm, farthest->distance_mm));
}

/// A printer stretches one way of the page; turned photos average that out.
void advise_on_turns(const std::vector<CalibratedView>& views, std::vector<Remark>& advice) {
  double cosines = 0.0;
  double sines = 0.0;
  for (const CalibratedView& view : views) {
    const Eigen::Vector3d right = view.T_camera_card.matrix.linear().col(0);
    const double doubled = 2.0 * std::atan2(right.y(), right.x());
    cosines += std::cos(doubled);
    sines += std::sin(doubled);
  }
  const double alike = std::hypot(cosines, sines) / static_cast<double>(views.size());
  if (alike < 0.8) return;
  advice.push_back(remark<RemarkCode::turn_card>());
}

/// Corners of the picture where the lens model is a guess.
void advise_on_loose_corners(const std::array<double, 4>& u_corners_px,
                             std::vector<Remark>& advice) {
  constexpr double kLoose_px = 1.0;
  const auto worst = std::max_element(u_corners_px.begin(), u_corners_px.end());
  if (*worst < kLoose_px) return;
  const auto at = static_cast<int>(worst - u_corners_px.begin());
  advice.push_back(remark<RemarkCode::lens_loose>(part_name(2 * (at % 2), 2 * (at / 2)), *worst));
}

void advise_on_places(const CalibrationCoverage& coverage, std::vector<Remark>& advice) {
  std::vector<std::string> empty;
  for (int row = 0; row < 3; ++row) {
    for (int column = 0; column < 3; ++column) {
      if (corners_in(coverage, column, row) == 0) empty.push_back(part_name(column, row));
    }
  }
  if (empty.empty()) return;
  advice.push_back(remark<RemarkCode::parts_not_seen>(listed(empty)));
}

}  // namespace

std::vector<Remark> calibration_advice(const CalibrationResult& result) {
  std::vector<Remark> advice;
  const auto views = static_cast<int>(result.views.size());
  if (views == 0) return advice;
  advise_on_tilt(result.views, advice);
  advise_on_places(result.coverage, advice);
  advise_on_loose_corners(result.u_corners_px, advice);
  advise_on_directions(result.views, advice);
  advise_on_distance(result.views, advice);
  advise_on_turns(result.views, advice);
  if (views == kWanted - 1) {
    advice.push_back(remark<RemarkCode::one_more_photo>(views, kWanted));
  } else if (views < kWanted) {
    advice.push_back(remark<RemarkCode::more_photos>(kWanted - views, views, kWanted));
  }
  return advice;
}

std::string emptiest_part(const CalibrationCoverage& coverage, cv::Size stored, int orientation) {
  constexpr double kMostEmpty = 1.0 / 3.0;
  constexpr int kColumns = CalibrationCoverage::kColumns, kRows = CalibrationCoverage::kRows;
  const cv::Size turned = upright_size(stored, orientation);
  int cells[3][3] = {}, empty[3][3] = {};
  for (int row = 0; row < kRows; ++row) {
    for (int column = 0; column < kColumns; ++column) {
      const cv::Point2d centre((column + 0.5) * stored.width / kColumns - 0.5,
                               (row + 0.5) * stored.height / kRows - 0.5);
      const cv::Point2d at = upright_point(centre, stored, orientation);
      const int x = std::clamp(static_cast<int>(3.0 * (at.x + 0.5) / turned.width), 0, 2);
      const int y = std::clamp(static_cast<int>(3.0 * (at.y + 0.5) / turned.height), 0, 2);
      ++cells[y][x];
      if (coverage.at(row, column) == 0) ++empty[y][x];
    }
  }
  std::string emptiest;
  double most = kMostEmpty;
  for (int y = 0; y < 3; ++y) {
    for (int x = 0; x < 3; ++x) {
      const double share = static_cast<double>(empty[y][x]) / std::max(1, cells[y][x]);
      if (share > most) {
        most = share;
        emptiest = part_name(x, y);
      }
    }
  }
  return emptiest;
}

}  // namespace evenbevel
