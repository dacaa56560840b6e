#include "printed_card.hpp"

#include <cmath>

#include <opencv2/aruco.hpp>

namespace evenbevel::test {
namespace {

constexpr double kPitch = 10.0;
constexpr double kMarkerSide = 0.75 * kPitch;
constexpr double kHalfSheetX = 140.0, kHalfSheetY = 55.0;
constexpr int kLaneFirstRow = 3, kLaneRows = 2;

bool in_lane(int row) { return row >= kLaneFirstRow && row < kLaneFirstRow + kLaneRows; }

}  // namespace

PrintedCard::PrintedCard(const SetUp& set_up)
    : set_up_(set_up),
      cells_per_mm_x_(1.0 / (kPitch * set_up.print_along)),
      cells_per_mm_y_(1.0 / (kPitch * set_up.print_across)),
      markers_(static_cast<std::size_t>(kColumns * kRows)) {
  const cv::Ptr<cv::aruco::Dictionary> dictionary =
      cv::aruco::getPredefinedDictionary(cv::aruco::DICT_5X5_1000);
  int id = 200;
  for (int row = 0; row < kRows; ++row) {
    if (in_lane(row)) continue;
    for (int column = 0; column < kColumns; ++column) {
      if ((column + row) % 2 == 0) continue;
      const cv::Mat bits =
          cv::aruco::Dictionary::getBitsFromByteList(dictionary->bytesList.rowRange(id, id + 1), 5);
      ++id;
      Marker& marker = markers_[static_cast<std::size_t>(row * kColumns + column)];
      marker.fill(false);
      for (int r = 0; r < 5; ++r) {
        for (int c = 0; c < 5; ++c) {
          marker[static_cast<std::size_t>((r + 1) * kModules + c + 1)] = bits.at<uchar>(r, c) != 0;
        }
      }
    }
  }
}

Region PrintedCard::at(double x_mm, double y_mm) const {
  if (std::abs(x_mm) > kHalfSheetX || std::abs(y_mm) > kHalfSheetY) return Region::table;
  const double across = x_mm * cells_per_mm_x_ + 0.5 * kColumns;
  const double down = 0.5 * kRows - y_mm * cells_per_mm_y_;
  if (across < 0.0 || across >= kColumns || down < 0.0 || down >= kRows) return Region::white;
  const int column = static_cast<int>(across);  // not negative: truncation is the floor
  const int row = static_cast<int>(down);
  if (in_lane(row)) return Region::lane;
  if ((column + row) % 2 == 0) return Region::black;
  constexpr double kModulesPerCell = kModules * kPitch / kMarkerSide;
  constexpr double kMargin = 0.5 * (kModulesPerCell - kModules);
  const double c = (across - column) * kModulesPerCell - kMargin;
  const double r = (down - row) * kModulesPerCell - kMargin;
  if (c < 0.0 || c >= kModules || r < 0.0 || r >= kModules) return Region::white;
  const Marker& marker = markers_[static_cast<std::size_t>(row * kColumns + column)];
  const int module = static_cast<int>(r) * kModules + static_cast<int>(c);
  return marker[static_cast<std::size_t>(module)] ? Region::white : Region::black;
}

bool PrintedCard::in_slot(double x_mm, double y_mm) const {
  return std::abs(y_mm) < set_up_.slot_half_width_mm && x_mm > set_up_.slot_x_min_mm &&
         x_mm < set_up_.slot_x_max_mm;
}

bool PrintedCard::near_node(double x_mm, double y_mm) const {
  constexpr double kReach = 3.6;
  const double to_x = std::abs(std::remainder(x_mm / set_up_.print_along, kPitch));
  const double to_y = std::abs(std::remainder(y_mm / set_up_.print_across, kPitch));
  return to_x < kReach && to_y < kReach;
}

}  // namespace evenbevel::test
