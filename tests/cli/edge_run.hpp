#pragma once

#include <filesystem>
#include <string>

#include <opencv2/core/mat.hpp>

#include "command_run.hpp"

namespace evenbevel::test {

struct EdgeRun : CommandRun {
  EdgeRun() : CommandRun("edge") {}
};

/// The USB camera's sample photo, decoded once, and what its maker passes.
const cv::Mat& usb_photo();
std::string usb_arguments();

/// Of a report's stations with a centreline offset.
struct Held {
  double share = 0.0;  ///< Whose 95 % interval holds the truth.
  int stations = 0;
};
/// @param truth  Of a sample photo; pixels as in the report.
Held held(const std::filesystem::path& report_json, const std::filesystem::path& truth_json);

/// The warnings of a report, one a line.
std::string warnings_of(const std::filesystem::path& report_json);

}  // namespace evenbevel::test
