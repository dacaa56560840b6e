#include "marker_bits.hpp"

#include <opencv2/aruco.hpp>

namespace evenbevel {

MarkerBits marker_bits(int id) {
  static const cv::Ptr<cv::aruco::Dictionary> dictionary =
      cv::aruco::getPredefinedDictionary(cv::aruco::DICT_5X5_1000);
  cv::Mat drawn;
  dictionary->drawMarker(id, kMarkerCells, drawn, 1);
  MarkerBits bits{};
  for (std::size_t row = 0; row < bits.size(); ++row) {
    for (std::size_t column = 0; column < bits.size(); ++column) {
      bits[row][column] = drawn.at<uchar>(static_cast<int>(row), static_cast<int>(column)) > 127;
    }
  }
  return bits;
}

}  // namespace evenbevel
