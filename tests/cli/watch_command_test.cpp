#include <array>
#include <chrono>
#include <csignal>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

#include "run_program.hpp"
#include "scratch_folder.hpp"
#include "sources.hpp"

namespace evenbevel {
namespace {

using test::kSource;

namespace fs = std::filesystem;
using test::ProgramRun;
using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

const std::string kWatchedPhoto = kSource + "/sample-images/edge-usb.jpg";
const std::string kHow =
    " --thickness 3mm --tip right --camera-file " + kSource + "/calibration/sample-usb.yml";

TEST(WatchCommandClosedForm, OnceMeasuresRecordsAndKeepsThePage) {
  const test::ScratchFolder folder;
  fs::create_directories(folder / "in");
  fs::copy_file(kWatchedPhoto, folder / "in/blade.jpg");
  test::write_file(folder / "in/cut.jpg", test::file_text(kWatchedPhoto).substr(0, 100'000));
  // Long enough ago for a file that is still growing to have grown.
  fs::last_write_time(folder / "in/cut.jpg",
                      fs::file_time_type::clock::now() - std::chrono::minutes(1));
  const std::string record = (folder / "record.sqlite").string();
  const ProgramRun run =
      test::run_program(std::string(PROGRAM) + " watch " + (folder / "in").string() + " --once" +
                        kHow + " --knife 'paring 3' --at-stage '60 grit' --record " + record);
  EXPECT_EQ(run.exit_code, 3) << run.output;
  EXPECT_THAT(run.output,
              AllOf(HasSubstr("blade.jpg\n          centreline offset, mean "),
                    HasSubstr("entry 1: paring 3"), HasSubstr("cut.jpg\n          not measured: "),
                    HasSubstr("truncated")));
  EXPECT_TRUE(fs::exists(folder / "in/measured/blade/report.json"));
  const std::string latest = test::file_text(folder / "in/measured/latest.html");
  EXPECT_THAT(latest, AllOf(HasSubstr("cut.jpg"), HasSubstr("blade.jpg"), HasSubstr("</html>"),
                            Not(HasSubstr("http://")), Not(HasSubstr("https://"))));
  const ProgramRun show =
      test::run_program(std::string(PROGRAM) + " record show 'paring 3' --record " + record);
  EXPECT_THAT(show.output, AllOf(HasSubstr("60 grit"), HasSubstr("blade.jpg")));
}

std::string watched_once(const test::ScratchFolder& folder, const std::vector<std::string>& photos,
                         const std::string& thickness,
                         const std::string& camera = "sample-phone.yml") {
  fs::create_directories(folder / "in");
  for (const std::string& photo : photos) {
    fs::copy_file(kSource + "/sample-images/" + photo, folder / "in" / photo);
  }
  return test::run_program(std::string(PROGRAM) + " watch " + (folder / "in").string() +
                           " --once --thickness " + thickness + " --camera-file " + kSource +
                           "/calibration/" + camera + " --tolerance 0.05mm")
      .output;
}

TEST(WatchCommandClosedForm, FacesAreToldByTheirCardAndFromEachOther) {
  const test::ScratchFolder folder;
  EXPECT_THAT(watched_once(folder, {"side-clean-left.jpg", "side-clean-right.jpg"}, "3mm"),
              AllOf(HasSubstr("side-clean-left.jpg\n          bevel height, left, mean "),
                    HasSubstr("side-clean-right.jpg\n          bevel height, right, mean ")));
  EXPECT_TRUE(fs::exists(folder / "in/measured/side-clean-right/report.json"));
}

TEST(WatchCommandClosedForm, ASectionIsToldByItsCard) {
  const test::ScratchFolder folder;
  EXPECT_THAT(watched_once(folder, {"choil-hollow.jpg"}, "3.2mm"),
              AllOf(HasSubstr("choil-hollow.jpg\n          thickness at "), HasSubstr(" U95 ")));
}

TEST(WatchCommandClosedForm, ScratchesAreCountedWhereTheyAreAskedFor) {
  const test::ScratchFolder folder;
  EXPECT_THAT(
      watched_once(folder, {"finish-scratched-1.jpg"}, "3.2mm --finish", "sample-finish.yml"),
      AllOf(HasSubstr("scratches a cm2, left"), HasSubstr("do: On the left face")));
}

TEST(WatchCommandClosedForm, DirectionAndAdviceAreSaid) {
  const test::ScratchFolder folder;
  EXPECT_THAT(
      watched_once(folder, {"edge-ground-offcentre.jpg"}, "3.4mm"),
      AllOf(HasSubstr("edge-ground-offcentre.jpg\n          outside, centreline offset, mean "
                      "+0.058 mm U95 0.020 mm toward the left face,"),
            HasSubstr("x = 0 at the"), HasSubstr("x grows to the tip\n"),
            HasSubstr("\n          do: Along the whole blade take ")));
}

// Before it says that it watches; nothing would ever be measured.
TEST(WatchCommandBadInput, BadSettingsEndItAtOnce) {
  const test::ScratchFolder folder;
  fs::create_directories(folder / "in");
  test::write_file(folder / "taken", "mine");
  const std::string watch =
      std::string(PROGRAM) + " watch " + (folder / "in").string() + " --thickness 3mm ";
  for (const std::string& bad :
       {std::string("--camera-file /none.yml"), "-o " + (folder / "taken/out").string(),
        "--knife heron --at-stage a --record " + (folder / "taken").string()}) {
    const ProgramRun run = test::run_program(watch + bad);
    EXPECT_EQ(run.exit_code, 3) << bad << run.output;
    EXPECT_THAT(run.output, AllOf(Not(HasSubstr("watching")), HasSubstr("do: "))) << bad;
  }
  const ProgramRun missing =
      test::run_program(std::string(PROGRAM) + " watch /none --thickness 3mm");
  EXPECT_THAT(missing.output, AllOf(HasSubstr("/none"), Not(HasSubstr("watching"))));
}

/// Starts the program, sends the signal once it says that it watches; its exit code.
int ended_by(int signal, const std::string& folder) {
  int ends[2] = {};
  if (::pipe(ends) != 0) return -1;
  const pid_t program = ::fork();
  if (program == 0) {
    ::dup2(ends[1], STDOUT_FILENO);
    ::execl(PROGRAM, PROGRAM, "watch", folder.c_str(), "--thickness", "3mm", nullptr);
    ::_exit(99);
  }
  ::close(ends[1]);
  std::string said;
  std::array<char, 256> chunk{};
  while (said.find("watching") == std::string::npos) {
    const ssize_t got = ::read(ends[0], chunk.data(), chunk.size());
    if (got <= 0) break;
    said.append(chunk.data(), static_cast<std::size_t>(got));
  }
  ::kill(program, signal);
  int status = 0;
  ::waitpid(program, &status, 0);
  ::close(ends[0]);
  return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
}

TEST(WatchCommandClosedForm, SignalsEndItCleanly) {
  const test::ScratchFolder folder;
  EXPECT_EQ(ended_by(SIGINT, folder.path().string()), 0);
  EXPECT_EQ(ended_by(SIGTERM, folder.path().string()), 0);
}

TEST(WatchCommandBadInput, WrongUseAndMissingFolders) {
  const std::string program = PROGRAM;
  EXPECT_EQ(test::run_program(program + " watch").exit_code, 2);
  EXPECT_EQ(test::run_program(program + " watch /none --thickness thick").exit_code, 2);
  EXPECT_EQ(test::run_program(program + " watch /none --thickness 3mm --once").exit_code, 3);
  EXPECT_EQ(test::run_program(program + " watch /none --thickness 3mm --note 'a'").exit_code, 2);
  EXPECT_EQ(test::run_program(program + " watch /none --once").exit_code, 2) << "no thickness";
}

}  // namespace
}  // namespace evenbevel
