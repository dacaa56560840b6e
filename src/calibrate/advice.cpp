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

std::string whole(double value) { return std::to_string(std::lround(value)); }

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

void advise_on_tilt(const std::vector<CalibratedView>& views, std::vector<std::string>& advice) {
  const auto steep = std::count_if(views.begin(), views.end(), [](const CalibratedView& view) {
    return degrees(view.tilt_rad) >= kSteepEnough;
  });
  double steepest = 0.0;
  for (const CalibratedView& view : views) steepest = std::max(steepest, degrees(view.tilt_rad));
  if (steep >= 3) return;
  advice.push_back("Tilt more: " + std::to_string(steep) + " of " + std::to_string(views.size()) +
                   " photos are tilted by " + whole(kSteepEnough) +
                   " degrees or more (the steepest by " + whole(steepest) +
                   "); take a few at 30 to 45 degrees, in different directions.");
}

/// Tilts in one direction only leave the principal point loose along it.
void advise_on_directions(const std::vector<CalibratedView>& views,
                          std::vector<std::string>& advice) {
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
  advice.emplace_back(
      "All photos lean the same way: tilt the card sideways as well as back and forth.");
}

void advise_on_distance(const std::vector<CalibratedView>& views,
                        std::vector<std::string>& advice) {
  const auto [nearest, farthest] = std::minmax_element(
      views.begin(), views.end(), [](const CalibratedView& a, const CalibratedView& b) {
        return a.distance_mm < b.distance_mm;
      });
  if (nearest == views.end() || farthest->distance_mm > 1.25 * nearest->distance_mm) return;
  advice.push_back("The photos come from one distance only (" + whole(nearest->distance_mm) +
                   " to " + whole(farthest->distance_mm) +
                   " mm): take some nearer and some farther, around the distance from which you "
                   "will measure.");
}

/// A printer stretches one way of the page; turned photos average that out.
void advise_on_turns(const std::vector<CalibratedView>& views, std::vector<std::string>& advice) {
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
  advice.emplace_back(
      "The card lies the same way round in all photos: turn the card or the camera by a quarter "
      "turn for some, so that a stretch of the print does not pass for one of the lens.");
}

/// Corners of the picture where the lens model is a guess.
void advise_on_loose_corners(const std::array<double, 4>& u_corners_px,
                             std::vector<std::string>& advice) {
  constexpr double kLoose_px = 1.0;
  const auto worst = std::max_element(u_corners_px.begin(), u_corners_px.end());
  if (*worst < kLoose_px) return;
  const auto at = static_cast<int>(worst - u_corners_px.begin());
  advice.push_back("The lens model is loose toward the " + part_name(2 * (at % 2), 2 * (at / 2)) +
                   " of the picture (standard uncertainty " + whole(*worst) +
                   " px): a measurement there would not be trustworthy; show the card there.");
}

void advise_on_places(const CalibrationCoverage& coverage, std::vector<std::string>& advice) {
  std::vector<std::string> empty;
  for (int row = 0; row < 3; ++row) {
    for (int column = 0; column < 3; ++column) {
      if (corners_in(coverage, column, row) == 0) empty.push_back(part_name(column, row));
    }
  }
  if (empty.empty()) return;
  advice.push_back("Nothing seen in the " + listed(empty) +
                   " of the picture: hold the card there in a photo or two; parts of the card may "
                   "stick out of the picture.");
}

}  // namespace

std::vector<std::string> calibration_advice(const CalibrationResult& result) {
  std::vector<std::string> advice;
  const auto views = static_cast<int>(result.views.size());
  if (views == 0) return advice;
  advise_on_tilt(result.views, advice);
  advise_on_places(result.coverage, advice);
  advise_on_loose_corners(result.u_corners_px, advice);
  advise_on_directions(result.views, advice);
  advise_on_distance(result.views, advice);
  advise_on_turns(result.views, advice);
  if (views < kWanted) {
    advice.push_back("Take " + std::to_string(kWanted - views) +
                     (kWanted - views == 1 ? " more photo: " : " more photos: ") +
                     std::to_string(views) + " were used, " + std::to_string(kWanted) +
                     " or more make the camera firmer.");
  }
  return advice;
}

}  // namespace evenbevel
