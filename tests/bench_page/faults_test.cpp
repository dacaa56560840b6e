// What may go wrong while photos come in: disks that are full, programs that are killed, phones
// that all send at once. Nothing half is left, nothing promised is lost.

#include <algorithm>
#include <array>
#include <cstdlib>
#include <mutex>
#include <set>
#include <thread>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <opencv2/core.hpp>

#include "evenbevel/photo.hpp"
#include "evenbevel/record.hpp"
#include "running_bench.hpp"
#include "started_program.hpp"
#include "units/sha256.hpp"

namespace evenbevel {
namespace {

using nlohmann::json;
using test::HttpReply;
using test::RunningBench;
using test::StartedProgram;
using testing::EndsWith;
using testing::HasSubstr;
using testing::Not;

std::string small_photo(int number) {
  cv::Mat picture(90, 120, CV_8UC3, cv::Scalar(number % 256, number / 256, 90));
  const std::vector<uchar> jpeg = encode_jpeg(picture, 90);
  // Bytes behind the picture's end make alike pictures other files.
  return std::string(jpeg.begin(), jpeg.end()) + std::to_string(number);
}

std::vector<std::filesystem::path> files_of(const std::filesystem::path& folder) {
  std::vector<std::filesystem::path> files;
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    files.push_back(entry.path());
  }
  return files;
}

/// The numbers that the bench's terminal lines begin with.
class ToldJobs {
 public:
  void hear(const std::string& line) {
    const std::lock_guard lock(mutex_);
    jobs_.push_back(std::atoi(line.c_str()));
  }
  std::vector<int> jobs() {
    const std::lock_guard lock(mutex_);
    return jobs_;
  }

 private:
  std::mutex mutex_;
  std::vector<int> jobs_;
};

TEST(BenchFaultsProperty, TwoHundredPhotosOfTwoPhonesAreEachMeasuredOnceInOrder) {
  ToldJobs told;
  BenchSettings settings;
  settings.tell = [&](const std::string& line) { told.hear(line); };
  const RunningBench bench(settings);
  ASSERT_EQ(bench.choose({{"view", "practice"}}).status, 200);
  std::array<std::vector<int>, 2> jobs;
  const auto send_all = [&](std::size_t phone) {
    for (int i = 0; i < 100; ++i) {
      const HttpReply reply = bench.post("/photo", small_photo(static_cast<int>(phone) * 100 + i));
      if (reply.status == 200) jobs[phone].push_back(reply.json()["job"]);
    }
  };
  std::thread one(send_all, 0), other(send_all, 1);
  one.join();
  other.join();
  std::set<int> all;
  for (const std::vector<int>& of_phone : jobs) {
    EXPECT_EQ(of_phone.size(), 100U);
    EXPECT_TRUE(std::ranges::is_sorted(of_phone)) << "each phone's photos keep their order";
    all.insert(of_phone.begin(), of_phone.end());
  }
  EXPECT_EQ(all.size(), 200U) << "each photo is one job";
  EXPECT_EQ(bench.stored().size(), 200U);
  bench.job_done(200);
  for (int i = 0; i < 200 && told.jobs().size() < 200; ++i) {
    std::this_thread::sleep_for(std::chrono::milliseconds(20));
  }
  std::vector<int> expected(200);
  for (int i = 0; i < 200; ++i) expected[static_cast<std::size_t>(i)] = i + 1;
  EXPECT_EQ(told.jobs(), expected) << "measured once, in the order they came";
}

/// A bench in a program of its own, that may write files of this size and no larger (RLIMIT_FSIZE,
/// in KiB), as a disk that is full lets it.
class FullDisk {
 public:
  explicit FullDisk(const std::filesystem::path& folder, int most_kib)
      : program({PROGRAM, "bench", "--local", "--port", "0", "--folder", folder.string(),
                 "--record", (folder / "record.sqlite").string()},
                most_kib) {}
  StartedProgram program;
};

TEST(BenchFaultsBadInput, AFullDiskIsSaidAndLeavesNothingHalf) {
  const test::ScratchFolder scratch;
  FullDisk full(scratch / "bench", 64);
  const test::ProgramClient phone(full.program);
  ASSERT_EQ(phone.post("/choose", R"({"view":"practice"})").status, 200);
  const HttpReply reply = phone.post("/photo", "\xFF\xD8" + std::string(300'000, 'x'));
  EXPECT_EQ(reply.status, 507) << reply.body;
  EXPECT_THAT(reply.body, HasSubstr("disk is full"));
  for (int i = 0; i < 200 && !files_of(scratch / "bench/photos").empty(); ++i) {
    std::this_thread::sleep_for(std::chrono::milliseconds(10));
  }
  EXPECT_TRUE(files_of(scratch / "bench/photos").empty()) << "nothing half";
  // One that fits is still taken.
  EXPECT_EQ(phone.post("/photo", small_photo(1)).status, 200);
  EXPECT_EQ(files_of(scratch / "bench/photos").size(), 1U);
}

TEST(BenchFaultsBadInput, AReportThatDoesNotFitIsRefusedAndThePhotoStays) {
  const test::ScratchFolder scratch;
  const std::string photo = test::file_text(SOURCE_FOLDER "/sample-images/practice-true.jpg");
  const int fits_kib = static_cast<int>(photo.size() / 1024 + 8);
  // Its picture is smaller than the photo, so that the limit is set once the photo is there.
  FullDisk full(scratch / "bench", fits_kib);
  const test::ProgramClient phone(full.program);
  ASSERT_EQ(phone.post("/choose", R"({"view":"practice"})").status, 200);
  const HttpReply sent = phone.post("/photo", photo);
  ASSERT_EQ(sent.status, 200) << sent.body;
  full.program.limit_files_kib(20);
  const json job = phone.job_done(sent.json()["job"])["job"];
  EXPECT_EQ(job["state"], "refused") << job;
  EXPECT_THAT(job["said"]["wrong"].get<std::string>(), HasSubstr("cannot be written"));
  EXPECT_THAT(job.dump(), Not(HasSubstr(scratch.path().string())));
  ASSERT_EQ(files_of(scratch / "bench/photos").size(), 1U);
  EXPECT_EQ(test::file_text(files_of(scratch / "bench/photos").front()), photo);
  for (const auto& folder : files_of(scratch / "bench/reports")) {
    EXPECT_TRUE(files_of(folder).empty()) << "no half report in " << folder;
  }
}

bool was_taken(const test::ProgramClient& phone, const std::string& photo) {
  try {
    return phone.post("/photo", photo).status == 200;
  } catch (const std::runtime_error&) {
    return false;  // nobody listens any more
  }
}

TEST(BenchFaultsProperty, KilledAtAnyMomentEveryPhotoThatWasTakenIsThereWhole) {
  const test::ScratchFolder scratch;
  const std::filesystem::path folder = scratch / "bench";
  for (const int pause_ms : {0, 3, 11, 29}) {
    std::set<std::string> promised;
    {
      FullDisk bench(folder, 0);
      const test::ProgramClient phone(bench.program);
      ASSERT_EQ(phone.post("/choose", R"({"view":"practice"})").status, 200);
      std::thread killer([&] {
        std::this_thread::sleep_for(std::chrono::milliseconds(40 + pause_ms));
        bench.program.kill();
      });
      for (int i = 0; i < 100; ++i) {
        const std::string photo = small_photo(i + 1000 * pause_ms) + std::string(200'000, 'y');
        if (!was_taken(phone, photo)) break;
        promised.insert(photo);
      }
      killer.join();
    }
    EXPECT_FALSE(promised.empty()) << "killed before anything was taken";
    std::set<std::string> whole;
    for (const auto& file : files_of(folder / "photos")) {
      const std::string name = file.filename().string();
      if (name.starts_with('.')) continue;  // was coming; see below
      EXPECT_EQ(sha256_of_file(file).value_or(""), file.stem().string()) << "half a photo";
      whole.insert(test::file_text(file));
    }
    for (const std::string& photo : promised) EXPECT_TRUE(whole.contains(photo)) << "lost";
  }
  // The next start clears away what was still coming, and nothing else.
  const std::size_t all = files_of(folder / "photos").size();
  std::size_t parts = 0;
  for (const auto& file : files_of(folder / "photos")) {
    parts += file.filename().string().starts_with('.') ? 1U : 0U;
  }
  FullDisk bench(folder, 0);
  const test::ProgramClient phone(bench.program);
  EXPECT_EQ(files_of(folder / "photos").size(), all - parts);
}

TEST(BenchFaultsBadInput, AnUploadInTheAirWhenItIsKilledIsClearedAwayAtTheNextStart) {
  const test::ScratchFolder scratch;
  const std::filesystem::path folder = scratch / "bench";
  {
    FullDisk bench(folder, 0);
    const test::ProgramClient phone(bench.program);
    ASSERT_EQ(phone.post("/choose", R"({"view":"practice"})").status, 200);
    test::RawConnection slow(phone.port());
    slow.send("POST /photo HTTP/1.1\r\nHost: 127.0.0.1\r\n" + phone.entered() +
              "Content-Length: 1000000\r\n\r\n" + std::string(300'000, 'x'));
    for (int i = 0; i < 200 && files_of(folder / "photos").empty(); ++i) {
      std::this_thread::sleep_for(std::chrono::milliseconds(10));
    }
    bench.program.kill();
  }
  ASSERT_EQ(files_of(folder / "photos").size(), 1U);
  EXPECT_THAT(files_of(folder / "photos").front().string(), EndsWith(".part"));
  FullDisk bench(folder, 0);
  const test::ProgramClient phone(bench.program);
  EXPECT_TRUE(files_of(folder / "photos").empty());
}

TEST(BenchFaultsBadInput, ANameThatIsPointedHereLaterIsRefusedEvenWithTheCookie) {
  // DNS rebinding: the browser keeps the name that it opened, and the address behind it changes.
  const RunningBench bench;
  for (const char* host :
       {"bench.evil.example", "192.168.0.7.evil.example", "localhost.", "127.1"}) {
    const HttpReply state = bench.ask(
        {.target = "/state", .headers = "Host: " + std::string(host) + "\r\n" + bench.entered()});
    EXPECT_EQ(state.status, 421) << host;
    const HttpReply choice =
        bench.ask({.method = "POST",
                   .target = "/choose",
                   .headers = "Host: " + std::string(host) + "\r\n" + bench.entered(),
                   .body = R"({"view":"section"})"});
    EXPECT_EQ(choice.status, 421) << host;
  }
  EXPECT_EQ(bench.get("/state").json()["view"], "edge");
}

}  // namespace
}  // namespace evenbevel
