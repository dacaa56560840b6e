#include "command_run.hpp"

#include <utility>

#include <gtest/gtest.h>
#include <opencv2/imgcodecs.hpp>

namespace evenbevel::test {

namespace fs = std::filesystem;
using testing::HasSubstr;

CommandRun::CommandRun(std::string command) : command_(std::move(command)) {
  earlier_ = {{"annotated.jpg", "\xFF\xD8\xFF\xE0 an earlier picture by evenbevel"},
              {"report.json", "{\n \"earlier\": \"by evenbevel\""},
              {"stations.csv", "earlier stations"},
              {"report.html", "<!DOCTYPE an earlier page by evenbevel"}};
  put_earlier_report();
}

std::string CommandRun::file(const std::string& name, const std::string& bytes) const {
  write_file(folder_ / name, bytes);
  return (folder_ / name).string();
}

std::string CommandRun::picture(const std::string& name, const cv::Mat& pixels) const {
  const std::string path = (folder_ / name).string();
  cv::imwrite(path, pixels, {cv::IMWRITE_PNG_COMPRESSION, 1});
  return path;
}

std::string CommandRun::camera_file(const std::string& name, const CameraModel& camera) const {
  write_camera_file(camera, folder_ / name);
  return (folder_ / name).string();
}

void CommandRun::put_earlier_report() const {
  fs::remove_all(out());
  fs::create_directories(out());
  for (const auto& [name, text] : earlier_) write_file(out() / name, text);
}

ProgramRun CommandRun::run(const std::string& arguments) const {
  put_earlier_report();
  return run_program(std::string(PROGRAM) + " " + command_ + " " + arguments + " -o " +
                     out().string());
}

void CommandRun::expect_refused(const std::string& arguments,
                                const testing::Matcher<std::string>& said) const {
  const ProgramRun result = run(arguments);
  EXPECT_THAT(result.output, said);
  expect_refusal(result);
}

void CommandRun::expect_refusal(const ProgramRun& run) const {
  EXPECT_EQ(run.exit_code, 3) << run.output;
  EXPECT_THAT(run.output, HasSubstr("\n  do: "));
  expect_earlier_report();
}

void CommandRun::expect_earlier_report() const { EXPECT_EQ(files_of(out()), earlier_); }

std::map<std::string, std::string> files_of(const fs::path& folder) {
  std::map<std::string, std::string> files;
  for (const fs::directory_entry& entry : fs::directory_iterator(folder)) {
    files[entry.path().filename().string()] = file_text(entry.path());
  }
  return files;
}

}  // namespace evenbevel::test
