#pragma once

#include <string>

#include "scratch_folder.hpp"

namespace evenbevel::test {

/// A numbered picture sequence of one photo, for a camera's place; each frame with noise of its own
/// (standard deviation 2 of 255), as a sensor has it.
class FrameFiles {
 public:
  /// @param width_px  0: as it is.
  /// @param step_px  By how much each frame is moved on from the one before.
  explicit FrameFiles(const std::string& photo, int width_px = 0, int step_px = 0);
  std::string source() const { return (folder_ / "frame_%02d.jpg").string(); }

 private:
  ScratchFolder folder_;
};

}  // namespace evenbevel::test
