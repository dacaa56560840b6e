#include <chrono>
#include <csignal>
#include <thread>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

#include "run_program.hpp"
#include "scratch_folder.hpp"

namespace evenbevel {
namespace {

namespace fs = std::filesystem;
using test::ProgramRun;
using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

const std::string kSource = SOURCE_FOLDER;
const std::string kPhoto = kSource + "/sample-images/edge-usb.jpg";
const std::string kHow =
    " --thickness 3mm --tip right --camera-file " + kSource + "/calibration/sample-usb.yml";

TEST(WatchCommandClosedForm, OnceMeasuresRecordsAndKeepsThePage) {
  const test::ScratchFolder folder;
  fs::create_directories(folder / "in");
  fs::copy_file(kPhoto, folder / "in/blade.jpg");
  test::write_file(folder / "in/cut.jpg", test::file_text(kPhoto).substr(0, 100'000));
  // Long enough ago for a file that is still growing to have grown.
  fs::last_write_time(folder / "in/cut.jpg",
                      fs::file_time_type::clock::now() - std::chrono::minutes(1));
  const std::string record = (folder / "record.sqlite").string();
  const ProgramRun run =
      test::run_program(std::string(PROGRAM) + " watch " + (folder / "in").string() + " --once" +
                        kHow + " --knife 'paring 3' --at-stage '60 grit' --record " + record);
  EXPECT_EQ(run.exit_code, 3) << run.output;
  EXPECT_THAT(run.output, AllOf(HasSubstr("blade.jpg  offset "), HasSubstr("entry 1: paring 3"),
                                HasSubstr("cut.jpg  not measured: "), HasSubstr("truncated")));
  EXPECT_TRUE(fs::exists(folder / "in/measured/blade/report.json"));
  const std::string latest = test::file_text(folder / "in/measured/latest.html");
  EXPECT_THAT(latest, AllOf(HasSubstr("cut.jpg"), HasSubstr("blade.jpg"), HasSubstr("</html>"),
                            Not(HasSubstr("http://")), Not(HasSubstr("https://"))));
  const ProgramRun show =
      test::run_program(std::string(PROGRAM) + " record show 'paring 3' --record " + record);
  EXPECT_THAT(show.output, AllOf(HasSubstr("60 grit"), HasSubstr("blade.jpg")));
}

/// Starts the program, gives it time, sends the signal; its exit code.
int ended_by(int signal, const std::string& folder) {
  const pid_t program = ::fork();
  if (program == 0) {
    (void)!::freopen("/dev/null", "w", stdout);
    ::execl(PROGRAM, PROGRAM, "watch", folder.c_str(), "--thickness", "3mm", nullptr);
    ::_exit(99);
  }
  std::this_thread::sleep_for(std::chrono::milliseconds(700));
  ::kill(program, signal);
  int status = 0;
  ::waitpid(program, &status, 0);
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
  EXPECT_EQ(test::run_program(program + " watch /none --thickness 3mm --knife 'a'").exit_code, 2);
}

}  // namespace
}  // namespace evenbevel
