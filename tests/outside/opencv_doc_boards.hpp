#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "evenbevel/calibrate.hpp"

namespace evenbevel::test {

struct BoardPhoto {
  std::string name;
  cv::Mat grey;
};

/// Chessboard photos of Debian's package opencv-doc ("left" or "right"): 13, number 10 is missing;
/// 9 x 6 inner corners, 640 x 480. Empty when the package is not installed.
std::vector<BoardPhoto> opencv_doc_photos(const std::string& side);

/// Their corners as our own finder sees them.
std::vector<CalibrationView> opencv_doc_views(const std::string& side,
                                              std::optional<int> half_window = std::nullopt);

std::filesystem::path opencv_doc_folder();

}  // namespace evenbevel::test
