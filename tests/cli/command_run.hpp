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

/// A measuring command as a maker runs it, in a scratch folder whose `out` holds an earlier report,
/// the same before each run.
class CommandRun {
 public:
  explicit CommandRun(std::string command);

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
  void put_earlier_report() const;

  std::string command_;
  ScratchFolder folder_;
  std::map<std::string, std::string> earlier_;
};

/// Names and bytes of a folder's files, hidden ones too.
std::map<std::string, std::string> files_of(const std::filesystem::path& folder);

}  // namespace evenbevel::test
