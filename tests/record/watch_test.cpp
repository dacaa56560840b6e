#include "evenbevel/watch.hpp"

#include <fstream>
#include <functional>
#include <map>
#include <mutex>
#include <thread>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include "evenbevel/error.hpp"
#include "scratch_folder.hpp"
#include "seeded.hpp"

namespace evenbevel {
namespace {

namespace fs = std::filesystem;
using testing::HasSubstr;

// Stands for a photo: whole when its last line is "end", refused when it says so.
Outcome pretend_to_read(const fs::path& path) {
  const std::string text = test::file_text(path);
  if (!text.ends_with("end\n")) return {Taken::unreadable, "is truncated", "copy it again"};
  if (text.starts_with("no card")) return {Taken::refused, "no card was found", "show the card"};
  return {};
}

std::string whole(const std::string& what) { return what + std::string(3000, '.') + "end\n"; }

using Counts = std::map<std::string, int>;

/// Counts what a watch does, by the names of the files.
class Log {
 public:
  WatchActions actions() {
    return {.measure =
                [this](const fs::path& path) {
                  const Outcome outcome = pretend_to_read(path);
                  if (outcome.taken == Taken::measured) note(measured_, path);
                  return outcome;
                },
            .bad =
                [this](const fs::path& path, const Outcome& what) {
                  note(bad_, path);
                  last_why_ = what.why;
                },
            .same = [this](const fs::path& path, const fs::path&) { note(same_, path); }};
  }

  Counts measured() const { return copy(measured_); }
  Counts bad() const { return copy(bad_); }
  Counts same() const { return copy(same_); }
  const std::string& last_why() const { return last_why_; }  ///< After the watch has ended.

 private:
  void note(Counts& counts, const fs::path& path) {
    const std::lock_guard lock(mutex_);
    ++counts[path.filename().string()];
  }
  Counts copy(const Counts& counts) const {
    const std::lock_guard lock(mutex_);
    return counts;
  }

  mutable std::mutex mutex_;
  Counts measured_, bad_, same_;
  std::string last_why_;
};

/// A watch in a thread of its own, ended by stop().
class Running {
 public:
  Running(WatchSettings settings, Log& log)
      : settings_(std::move(settings)), actions_(log.actions()) {
    if (::pipe(ends_) != 0) throw std::runtime_error("no pipe");
    thread_ = std::thread([this] {
      try {
        watch_folder(settings_, actions_, ends_[0]);
      } catch (const Error& e) {
        fault_ = e.what();
      }
    });
    std::this_thread::sleep_for(std::chrono::milliseconds(50));  // for its first look
  }
  ~Running() {
    if (thread_.joinable()) stop();
    ::close(ends_[0]);
    ::close(ends_[1]);
  }
  Running(const Running&) = delete;
  Running& operator=(const Running&) = delete;

  std::string stop() {
    (void)!::write(ends_[1], "x", 1);
    thread_.join();
    return fault_;
  }
  std::string wait_for_its_end() {
    thread_.join();
    return fault_;
  }

 private:
  WatchSettings settings_;
  WatchActions actions_;
  int ends_[2] = {};
  std::thread thread_;
  std::string fault_;
};

constexpr std::chrono::milliseconds kQuiet{60},
    kPatience{4000};  // A busy machine stalls a second now and then.

WatchSettings settings_of(const fs::path& folder) {
  return {.folder = folder, .quiet = kQuiet, .patience = kPatience};
}

void pause(std::chrono::milliseconds time) { std::this_thread::sleep_for(time); }

/// Until it holds, on however busy a machine; then long enough for what should not come.
void wait_for(const std::function<bool()>& holds) {
  for (int i = 0; i < 1000 && !holds(); ++i) pause(std::chrono::milliseconds(20));
  pause(kQuiet * 5);
}

/// As a phone's sync does it: in pieces.
void drop_slowly(const fs::path& path, const std::string& text, int pieces) {
  const std::size_t size = text.size() / static_cast<std::size_t>(pieces) + 1;
  for (std::size_t at = 0; at < text.size(); at += size) {
    std::ofstream(path, std::ios::binary | std::ios::app) << text.substr(at, size);
    pause(kQuiet * 2);
  }
}

TEST(WatchProperty, TwoHundredPhotosAtOnce) {
  constexpr int kPhotos = 200;
  const test::ScratchFolder folder;
  Log log;
  Running watch(settings_of(folder.path()), log);
  std::mt19937_64 rng = test::seeded("WatchProperty", 0);
  Counts expected_good, expected_bad;
  std::vector<std::thread> growing;
  for (int i = 0; i < kPhotos; ++i) {
    const std::string name = "IMG_" + std::to_string(i) + (i % 3 == 0 ? ".JPG" : ".jpg");
    const std::string text = whole("photo " + std::to_string(i));
    const double kind = test::uniform(rng, 0.0, 1.0);
    if (kind < 0.15) {  // cut off, and so it stays
      test::write_file(folder / name, text.substr(0, text.size() / 2));
      expected_bad[name] = 1;
    } else if (kind < 0.20) {
      test::write_file(folder / name, "");
      expected_bad[name] = 1;
    } else if (kind < 0.30) {  // still growing, more slowly than the watch is quick
      growing.emplace_back(drop_slowly, folder / name, text, 4);
      expected_good[name] = 1;
    } else if (kind < 0.6) {  // under a temporary name first
      test::write_file(folder / ("." + name + ".part"), text);
      fs::rename(folder / ("." + name + ".part"), folder / name);
      expected_good[name] = 1;
    } else {
      test::write_file(folder / name, text);
      expected_good[name] = 1;
    }
  }
  for (std::thread& thread : growing) thread.join();
  wait_for([&] {
    return log.measured().size() >= expected_good.size() && log.bad().size() >= expected_bad.size();
  });
  EXPECT_EQ(watch.stop(), "");
  ASSERT_GT(expected_bad.size(), 20U);
  ASSERT_GT(growing.size(), 8U);
  EXPECT_EQ(log.measured(), expected_good);
  EXPECT_EQ(log.bad(), expected_bad);
}

TEST(WatchClosedForm, WhatIsThereAtTheStartIsLeftAlone) {
  const test::ScratchFolder folder;
  test::write_file(folder / "old.jpg", whole("old"));
  Log log;
  Running watch(settings_of(folder.path()), log);
  test::write_file(folder / "new.jpg", whole("new"));
  wait_for([&] { return !log.measured().empty(); });
  watch.stop();
  EXPECT_EQ(log.measured(), (Counts{{"new.jpg", 1}}));
}

TEST(WatchClosedForm, OnceTakesWhatIsThereAndEnds) {
  const test::ScratchFolder folder;
  for (const char* name : {"a.jpg", "b.HEIC", "c.png"})
    test::write_file(folder / name, whole(name));
  for (const char* name : {"notes.txt", ".hidden.jpg", "d.jpg.part"}) {
    test::write_file(folder / name, whole(name));
  }
  test::write_file(folder / "cut.jpg", "half");
  fs::create_directories(folder / "folder.jpg");
  Log log;
  WatchSettings settings = settings_of(folder.path());
  settings.once = true;
  EXPECT_EQ(Running(settings, log).wait_for_its_end(), "");
  EXPECT_EQ(log.measured(), (Counts{{"a.jpg", 1}, {"b.HEIC", 1}, {"c.png", 1}}));
  EXPECT_EQ(log.bad(), (Counts{{"cut.jpg", 1}}));
  EXPECT_THAT(log.last_why(), HasSubstr("truncated"));
}

TEST(WatchClosedForm, ARefusedPhotoIsNamedAtOnceAndAgainWhenItIsReplaced) {
  const test::ScratchFolder folder;
  Log log;
  WatchSettings settings = settings_of(folder.path());
  settings.patience = std::chrono::minutes(5);
  Running watch(settings, log);
  test::write_file(folder / "a.jpg", whole("no card"));
  wait_for([&] { return log.bad()["a.jpg"] == 1; });
  test::write_file(folder / "a.jpg", whole("no card either"));
  wait_for([&] { return log.bad()["a.jpg"] == 2; });
  test::write_file(folder / "a.jpg", whole("a card"));
  wait_for([&] { return log.measured()["a.jpg"] == 1; });
  watch.stop();
  EXPECT_EQ(log.bad(), (Counts{{"a.jpg", 2}}));
  EXPECT_EQ(log.measured(), (Counts{{"a.jpg", 1}}));
}

TEST(WatchClosedForm, TouchedOrCopiedItIsNotMeasuredAgain) {
  const test::ScratchFolder folder;
  Log log;
  Running watch(settings_of(folder.path()), log);
  test::write_file(folder / "a.jpg", whole("a"));
  wait_for([&] { return !log.measured().empty(); });
  test::write_file(folder / "a.jpg", whole("a"));
  fs::copy_file(folder / "a.jpg", folder / "b.jpg");
  wait_for([&] { return !log.same().empty(); });
  watch.stop();
  EXPECT_EQ(log.measured(), (Counts{{"a.jpg", 1}}));
  EXPECT_EQ(log.same(), (Counts{{"b.jpg", 1}}));
}

TEST(WatchBadInput, AFolderThatIsNotThereIsNamed) {
  const test::ScratchFolder folder;
  Log log;
  EXPECT_THAT(Running(settings_of(folder / "none"), log).wait_for_its_end(), HasSubstr("none"));
  test::write_file(folder / "file", "x");
  EXPECT_THAT(Running(settings_of(folder / "file"), log).wait_for_its_end(), HasSubstr("file"));
}

TEST(WatchBadInput, AFolderThatVanishesEndsTheWatch) {
  const test::ScratchFolder folder;
  fs::create_directories(folder / "in");
  Log log;
  Running watch(settings_of(folder / "in"), log);
  fs::remove_all(folder / "in");
  EXPECT_THAT(watch.wait_for_its_end(), HasSubstr("is gone"));
}

}  // namespace
}  // namespace evenbevel
