#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "evenbevel/calibrate.hpp"
#include "progress.hpp"

namespace evenbevel::cli {

/// What the photos or frames gave.
struct Gathered {
  std::vector<CalibrationView> views;
  std::vector<LeftOut> left_out;
  CameraModel camera;  ///< Size and identity.
};

/// @throws Error  Nothing to read, or no photo shows the board.
Gathered gather_photos(const std::vector<std::filesystem::path>& paths,
                       const CalibrationBoard& board, Progress& progress);

/// Picks frames of a camera, film or picture sequence; with a window where a camera and a display
/// are there. @param wanted  How many views.
/// @throws Error  Cannot be opened, or no frame shows the board.
Gathered gather_frames(const std::string& source, int wanted, const CalibrationBoard& board,
                       Progress& progress);

/// "96 corners", or why it was left out.
std::string described(const BoardSighting& sighting);

/// "0 of 12 photos" show the board.
[[noreturn]] void reject_all(const std::string& what, const CalibrationBoard& board,
                             const std::vector<LeftOut>& left_out);

}  // namespace evenbevel::cli
