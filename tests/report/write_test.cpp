#include <csignal>
#include <filesystem>
#include <fstream>
#include <iterator>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/resource.h>

#include "evenbevel/error.hpp"
#include "fixture.hpp"

namespace evenbevel {
namespace {

namespace fs = std::filesystem;
using testing::HasSubstr;

constexpr std::array kFiles = {"annotated.jpg", "report.json", "stations.csv", "report.html"};

class Folder {
 public:
  Folder() {
    std::string pattern = testing::TempDir() + "evenbevel_report_XXXXXX";
    path_ = ::mkdtemp(pattern.data());
  }
  ~Folder() { fs::remove_all(path_); }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  const fs::path& path() const { return path_; }

 private:
  fs::path path_;
};

void write_to(const fs::path& folder, const test::DrawnBlade& blade = {}) {
  write_edge_report(test::result_of(blade), test::settings_of(blade), test::photo_of(blade),
                    test::camera_of(blade), {.command_line = "evenbevel"}, folder);
}

std::string content(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
}

std::size_t entries(const fs::path& folder) {
  return static_cast<std::size_t>(
      std::distance(fs::directory_iterator(folder), fs::directory_iterator()));
}

/// Error's message and remedy; fails when there is none.
std::string error_of(const fs::path& folder) {
  try {
    write_to(folder, {.offset_mm = 0.1});
  } catch (const Error& error) {
    EXPECT_FALSE(error.do_next().empty());
    return error.what();
  }
  ADD_FAILURE() << "no Error";
  return "";
}

/// Files cannot grow beyond `bytes` while it lives: what a full disk does to a write.
class FullDisk {
 public:
  explicit FullDisk(rlim_t bytes) {
    ::getrlimit(RLIMIT_FSIZE, &earlier_);
    handler_ = std::signal(SIGXFSZ, SIG_IGN);
    const rlimit limit{bytes, earlier_.rlim_max};
    ::setrlimit(RLIMIT_FSIZE, &limit);
  }
  ~FullDisk() {
    ::setrlimit(RLIMIT_FSIZE, &earlier_);
    std::signal(SIGXFSZ, handler_);
  }
  FullDisk(const FullDisk&) = delete;
  FullDisk& operator=(const FullDisk&) = delete;

 private:
  rlimit earlier_{};
  void (*handler_)(int) = nullptr;
};

TEST(WriteClosedForm, FourFilesAndNothingElse) {
  const Folder folder;
  write_to(folder.path() / "deep" / "out");
  for (const char* name : kFiles) {
    EXPECT_GT(fs::file_size(folder.path() / "deep" / "out" / name), 100U) << name;
  }
  EXPECT_EQ(entries(folder.path() / "deep" / "out"), kFiles.size());
}

TEST(WriteClosedForm, ALaterReportReplacesTheEarlierOne) {
  const Folder folder;
  write_to(folder.path());
  const std::string earlier = content(folder.path() / "stations.csv");
  write_to(folder.path(), {.offset_mm = 0.1});
  EXPECT_NE(content(folder.path() / "stations.csv"), earlier);
  EXPECT_EQ(entries(folder.path()), kFiles.size());
}

TEST(WriteBadInput, AFullDiskLeavesTheEarlierReport) {
  const Folder folder;
  write_to(folder.path());
  std::vector<std::string> earlier;
  for (const char* name : kFiles) earlier.push_back(content(folder.path() / name));
  {
    const FullDisk full(4096);  // less than any picture, more than nothing
    EXPECT_THAT(error_of(folder.path()), HasSubstr("annotated.jpg"));
  }
  for (std::size_t i = 0; i < kFiles.size(); ++i) {
    EXPECT_EQ(content(folder.path() / kFiles[i]), earlier[i]) << kFiles[i];
  }
  EXPECT_EQ(entries(folder.path()), kFiles.size());
}

TEST(WriteBadInput, AFullDiskLeavesNoNewFolder) {
  const Folder folder;
  const FullDisk full(4096);
  error_of(folder.path() / "out");
  EXPECT_FALSE(fs::exists(folder.path() / "out"));
}

TEST(WriteBadInput, AFileInTheWayIsNamed) {
  const Folder folder;
  std::ofstream(folder.path() / "file") << "kept";
  EXPECT_THAT(error_of(folder.path() / "file"), HasSubstr("file"));
  EXPECT_THAT(error_of(folder.path() / "file" / "out"), HasSubstr("file"));
  EXPECT_EQ(content(folder.path() / "file"), "kept");
}

TEST(WriteBadInput, AFolderNamedAsAReportLeavesAllOthers) {
  const Folder folder;
  write_to(folder.path());
  const std::string earlier = content(folder.path() / "annotated.jpg");
  fs::remove(folder.path() / "report.html");
  fs::create_directories(folder.path() / "report.html" / "kept");
  EXPECT_THAT(error_of(folder.path()), HasSubstr("report.html"));
  EXPECT_EQ(content(folder.path() / "annotated.jpg"), earlier);
  EXPECT_TRUE(fs::exists(folder.path() / "report.html" / "kept"));
  EXPECT_EQ(entries(folder.path()), kFiles.size());
}

}  // namespace
}  // namespace evenbevel
