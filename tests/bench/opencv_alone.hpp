#pragma once

#include <optional>
#include <string>

namespace evenbevel::test {

/// The mean centreline offset as one would read it with OpenCV alone: markers found at full size,
/// the picture laid on the card's plane, Canny's borders, straight pieces by Hough, the flats' and
/// the land's pairs chosen by their distance, a line through each. No uncertainty, no check.
/// @pre The tip is at the right in the picture.
/// @return  mm, positive toward the left face. Empty: no two pairs were found.
std::optional<double> offset_by_opencv_alone(const std::string& photo,
                                             const std::string& camera_file, double thickness_mm);

}  // namespace evenbevel::test
