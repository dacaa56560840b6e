#pragma once

#include <filesystem>
#include <map>
#include <string>

#include <gmock/gmock.h>
#include <opencv2/core/mat.hpp>

#include "evenbevel/camera.hpp"
#include "run_program.hpp"
#include "scratch_folder.hpp"

namespace evenbevel::test {

/// `evenbevel edge` as a maker runs it, in a scratch folder whose `out` holds an earlier report.
class EdgeRun {
 public:
  EdgeRun();

  std::filesystem::path operator/(const std::string& name) const { return folder_ / name; }
  std::filesystem::path out() const { return folder_ / "out"; }
  std::string file(const std::string& name, const std::string& bytes) const;
  /// PNG, without EXIF.
  std::string picture(const std::string& name, const cv::Mat& pixels) const;
  std::string camera_file(const std::string& name, const CameraModel& camera) const;

  ProgramRun run(const std::string& arguments) const;
  /// Exit code 3, a message that says `said` and what to do, and `out` as it was.
  void expect_refused(const std::string& arguments,
                      const testing::Matcher<std::string>& said) const;
  /// What to do, and `out` as it was.
  void expect_refusal(const ProgramRun& run) const;
  void expect_earlier_report() const;

 private:
  ScratchFolder folder_;
  std::map<std::string, std::string> earlier_;
};

/// Names and bytes of a folder's files, hidden ones too.
std::map<std::string, std::string> files_of(const std::filesystem::path& folder);

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
