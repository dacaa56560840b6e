// The output folder holds the earlier report or the new one, whole; `--each` goes on past a bad
// photo.

#include <chrono>
#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <map>
#include <string>
#include <thread>
#include <vector>

#include <fcntl.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

#include "edge_run.hpp"
#include "sources.hpp"

namespace evenbevel::test {
namespace {

namespace fs = std::filesystem;
using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

std::string command(const std::string& arguments) {
  return std::string(PROGRAM) + " edge " + kUsbPhoto + usb_arguments() + ' ' + arguments;
}

TEST(EdgeOutputBadInput, AFileInTheFoldersPlaceIsNamedAndKept) {
  const EdgeRun run;
  const std::string blocker = run.file("blocker", "kept");
  for (const std::string& folder : {blocker, blocker + "/out"}) {
    const ProgramRun result = run_program(command("-o " + folder));
    EXPECT_EQ(result.exit_code, 3);
    EXPECT_THAT(result.output, AllOf(HasSubstr(folder), HasSubstr("do: ")));
  }
  EXPECT_EQ(file_text(blocker), "kept");
}

// As another user where root runs the tests: root may write anywhere.
TEST(EdgeOutputBadInput, AFolderThatMayNotBeWrittenIsNamed) {
  const EdgeRun run;
  fs::permissions(run.out(), fs::perms::owner_read | fs::perms::owner_exec |
                                 fs::perms::others_read | fs::perms::others_exec);
  fs::permissions(run / "", fs::perms::others_read | fs::perms::others_exec, fs::perm_options::add);
  std::string as_user = command("-o " + run.out().string());
  if (::geteuid() == 0) {
    if (std::system("command -v setpriv > /dev/null") != 0) GTEST_SKIP() << "root, no setpriv";
    as_user = "setpriv --reuid 65534 --regid 65534 --clear-groups " + as_user;
  }
  const ProgramRun result = run_program(as_user);
  fs::permissions(run.out(), fs::perms::owner_all);
  EXPECT_THAT(result.output, AllOf(HasSubstr(run.out().string()), HasSubstr("Permission denied")));
  run.expect_refusal(result);
}

// RLIMIT_FSIZE: a write stops part way in the first, a middle or the last file. setrlimit(2).
TEST(EdgeOutputBadInput, AWriteThatStopsPartWayLeavesTheEarlierReport) {
  const EdgeRun run;
  const ProgramRun whole = run_program(command("-o " + (run / "whole").string()));
  ASSERT_EQ(whole.exit_code, 0) << whole.output;
  for (const char* cut : {"annotated.jpg", "report.json", "report.html"}) {
    SCOPED_TRACE(cut);
    const auto blocks = fs::file_size(run / "whole" / cut) / 512 - 2;
    const ProgramRun result = run_program("trap '' XFSZ; ulimit -f " + std::to_string(blocks) +
                                          "; " + command("-o " + run.out().string()));
    EXPECT_THAT(result.output, HasSubstr("File too large"));
    run.expect_refusal(result);
  }
}

// What the maker put there, what another photo gave, and the photo itself stay.
TEST(EdgeOutputBadInput, NothingThatIsNotItsOwnIsReplaced) {
  const EdgeRun run;
  const fs::path out = run / "fresh";
  const auto measured = [&](const std::string& photo) {
    return run_program(std::string(PROGRAM) + " edge " + photo + " " + usb_arguments() + " -o " +
                       out.string());
  };
  for (const char* name : {"annotated.jpg", "report.json", "stations.csv", "report.html"}) {
    fs::remove_all(out);
    fs::create_directories(out);
    write_file(out / name, "mine");
    const ProgramRun done = measured(kUsbPhoto);
    EXPECT_EQ(done.exit_code, 3) << name;
    EXPECT_THAT(done.output, HasSubstr("left alone")) << name;
    EXPECT_EQ(files_of(out).size(), 1U) << name;
    EXPECT_EQ(file_text(out / name), "mine");
  }
  fs::remove_all(out);
  EXPECT_EQ(measured(kUsbPhoto).exit_code, 0);
  EXPECT_EQ(measured(kUsbPhoto).exit_code, 0);
  const std::map<std::string, std::string> first = files_of(out);
  fs::copy_file(kSamples + "edge-ground-offcentre.jpg", run / "other.jpg");
  const ProgramRun other =
      run_program(std::string(PROGRAM) + " edge " + (run / "other.jpg").string() +
                  " --thickness 3.4mm" + kCamera + " -o " + out.string());
  EXPECT_EQ(other.exit_code, 3);
  EXPECT_THAT(other.output, HasSubstr("the report of another photo"));
  EXPECT_EQ(files_of(out), first);
}

TEST(EdgeOutputBadInput, AFullDiskLeavesTheEarlierReport) {
  if (std::system("unshare -m true 2> /dev/null") != 0)
    GTEST_SKIP() << "may not mount a small disk";
  const EdgeRun run;
  const std::string disk = run.out().string();
  const ProgramRun result =
      run_program("unshare -m sh -c 'mount -t tmpfs -o size=128k none " + disk +
                  " || exit 77; cp " + kUsbPhoto + "/../edge-usb.json " + disk +
                  " 2> /dev/null; printf \"{\\n \\\"earlier evenbevel\" > " + disk +
                  "/report.json; " + command("-o " + disk) + "; code=$?; ls -A " + disk + "; cat " +
                  disk + "/report.json; exit $code'");
  if (result.exit_code == 77) GTEST_SKIP() << "may not mount a small disk";
  EXPECT_EQ(result.exit_code, 3) << result.output;
  EXPECT_THAT(result.output, AllOf(HasSubstr("No space left on device"), HasSubstr("do: "),
                                   HasSubstr("\nreport.json\n{\n \"earlier evenbevel"),
                                   Not(HasSubstr("\nannotated.jpg\n"))));
}

/// Starts the program, kills it after `lifetime`; false: it had ended before.
bool run_and_kill(const std::vector<std::string>& arguments, std::chrono::milliseconds lifetime) {
  const pid_t child = ::fork();
  if (child == 0) {
    std::vector<char*> argv;
    for (const std::string& argument : arguments)
      argv.push_back(const_cast<char*>(argument.c_str()));
    argv.push_back(nullptr);
    const int nowhere = ::open("/dev/null", O_WRONLY);
    ::dup2(nowhere, 1);
    ::dup2(nowhere, 2);
    ::execv(argv[0], argv.data());
    ::_exit(127);
  }
  const auto end = std::chrono::steady_clock::now() + lifetime;
  int status = 0;
  while (::waitpid(child, &status, WNOHANG) == 0) {
    if (std::chrono::steady_clock::now() < end) {
      std::this_thread::sleep_for(std::chrono::milliseconds(1));
    } else {
      ::kill(child, SIGKILL);
    }
  }
  return WIFSIGNALED(status);
}

/// Without the temporary files, which a killed run cannot take away.
std::map<std::string, std::string> report_in(const fs::path& folder) {
  std::map<std::string, std::string> files = files_of(folder);
  std::erase_if(files, [](const auto& file) { return file.first.starts_with('.'); });
  return files;
}

void replace_report(const fs::path& folder, const std::map<std::string, std::string>& files) {
  for (const auto& [name, bytes] : files) write_file(folder / name, bytes);
}

TEST(EdgeOutputProperty, WhoeverKillsTheProgramLeavesAWholeReport) {
  const EdgeRun run;
  const std::map<std::string, std::string> earlier = files_of(run.out());
  const std::vector<std::string> arguments = {PROGRAM,
                                              "edge",
                                              kUsbPhoto,
                                              "--thickness",
                                              "3mm",
                                              "--camera-file",
                                              kSource + "/calibration/sample-usb.yml",
                                              "-o",
                                              run.out().string()};
  const auto start = std::chrono::steady_clock::now();
  ASSERT_FALSE(run_and_kill(arguments, std::chrono::minutes(1)));
  const auto whole_run = std::chrono::steady_clock::now() - start;
  const std::map<std::string, std::string> later = files_of(run.out());
  ASSERT_EQ(later.size(), earlier.size());
  ASSERT_NE(later, earlier);
  // The report is written at the end: each kill a little later than the last, until one is too
  // late.
  int killed = 0;
  double share = 0.8;
  for (int i = 0; i < 12; ++i) {
    replace_report(run.out(), earlier);
    const bool was_killed = run_and_kill(
        arguments, std::chrono::duration_cast<std::chrono::milliseconds>(share * whole_run));
    std::this_thread::sleep_for(std::chrono::milliseconds(100));  // the last moves may be under way
    EXPECT_THAT(report_in(run.out()), testing::AnyOf(earlier, later)) << "killed at " << share;
    killed += was_killed ? 1 : 0;
    share *= was_killed ? 1.05 : 0.85;
  }
  EXPECT_GT(killed, 3);
  EXPECT_FALSE(run_and_kill(arguments, std::chrono::minutes(1)));
  EXPECT_EQ(files_of(run.out()), later) << "leftovers of the killed runs";
}

// ---------------------------------------------------------------------------------------- --each

TEST(EdgeEachBadInput, OneBadPhotoOfAFolderDoesNotStopTheRest) {
  const EdgeRun run;
  fs::create_directory(run / "photos");
  run.file("photos/a-good.jpg", file_text(kUsbPhoto));
  run.file("photos/b-broken.jpg", "no photo");
  run.picture("photos/c-bare.png", cv::Mat(1080, 1920, CV_8UC3, cv::Scalar(90, 90, 90)));
  run.file("photos/d-good.jpg", file_text(kUsbPhoto));
  const std::string each = (run / "photos").string() + " --each" + usb_arguments();
  const ProgramRun result = run.run(each);
  for (const char* name : {"a-good", "d-good"}) {
    EXPECT_EQ(files_of(run.out() / name).size(), 4U) << name;
  }
  for (const char* name : {"b-broken", "c-bare"})
    EXPECT_FALSE(fs::exists(run.out() / name)) << name;
  const std::string table = result.output.substr(result.output.rfind("verdict"));
  EXPECT_THAT(table, testing::ContainsRegex("a-good.jpg +none"));
  EXPECT_THAT(table, testing::ContainsRegex("b-broken.jpg +not measured  +[a-z]"));
  EXPECT_THAT(table, testing::ContainsRegex("c-bare.png +not measured  +[a-z]"));
  EXPECT_THAT(table, testing::ContainsRegex("d-good.jpg +none"));
  EXPECT_EQ(result.exit_code, 3) << "a photo was not measured";
}

TEST(EdgeEachBadInput, ThreeGoesBeforeOneAndOneBeforeNought) {
  const EdgeRun run;
  const std::string bad = (run / "none.jpg").string();
  const std::string good = kUsbPhoto + " --each" + usb_arguments();
  EXPECT_EQ(run.run(good).exit_code, 0);
  EXPECT_EQ(run.run(good + " --tolerance 0.001mm").exit_code, 1);
  EXPECT_EQ(run.run(bad + ' ' + good + " --tolerance 0.001mm").exit_code, 3);
  EXPECT_EQ(run.run(bad + " --each" + usb_arguments()).exit_code, 3);
}

}  // namespace
}  // namespace evenbevel::test
