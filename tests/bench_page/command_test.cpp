// `evenbevel bench` as it is started and ended.

#include <csignal>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "evenbevel/folders.hpp"
#include "raw_client.hpp"
#include "run_program.hpp"
#include "scratch_folder.hpp"
#include "started_program.hpp"

namespace evenbevel {
namespace {

using testing::AllOf;
using testing::HasSubstr;

TEST(BenchCommandClosedForm, ItGreetsAnswersAndEndsCleanly) {
  for (const int signal : {SIGINT, SIGTERM}) {
    const test::ScratchFolder folder;
    test::StartedProgram program({PROGRAM, "bench", "--port", "0", "--knife", "heron", "--folder",
                                  (folder / "bench").string()});
    const std::string greeting = program.read_until("Ctrl-C");
    EXPECT_THAT(greeting, AllOf(HasSubstr("scan this"), HasSubstr("Not encrypted"),
                                HasSubstr("\x1b[38;5;16;48;5;231m")));
    const std::size_t address = greeting.find("http://");
    ASSERT_NE(address, std::string::npos) << greeting;
    const std::size_t port_at = greeting.find(':', address + 7) + 1;
    const auto port = static_cast<std::uint16_t>(std::stoi(greeting.substr(port_at)));
    const std::size_t query = greeting.find("/?t=", address);
    const std::string target = greeting.substr(query, greeting.find('\n', query) - query);
    EXPECT_EQ(test::ask(port, {.target = target}).status, 200);
    EXPECT_EQ(program.exit_code_after(signal), 0);
    EXPECT_THAT(program.read_until("ended\n"), HasSubstr("ended\n"));
  }
}

// What stands in shop.toml stays, and its other readers find what the page said.
TEST(BenchCommandClosedForm, AToleranceOfThePageGoesIntoShopToml) {
  const std::filesystem::path shop = *config_folder() / "shop.toml";
  std::filesystem::create_directories(shop.parent_path());
  test::write_file(shop,
                   "# my shop\nunits = \"in\"\nland = \"0.3mm\"\n\n[printed-bar]\nedge = "
                   "\"199.4mm\"\n");
  const test::ScratchFolder folder;
  const auto say = [&](const std::string& choice) {
    test::StartedProgram program(
        {PROGRAM, "bench", "--port", "0", "--local", "--folder", (folder / "bench").string()});
    const std::string greeting = program.read_until("Ctrl-C");
    const std::size_t port_at = greeting.find(':', greeting.find("http://") + 7) + 1;
    const auto port = static_cast<std::uint16_t>(std::stoi(greeting.substr(port_at)));
    const std::size_t query = greeting.find("/?t=");
    const std::string target = greeting.substr(query, greeting.find('\n', query) - query);
    const std::string entered = test::entered_by(test::ask(port, {.target = target}));
    const test::HttpReply reply = test::ask(
        port, {.method = "POST", .target = "/choose", .headers = entered, .body = choice});
    EXPECT_EQ(program.exit_code_after(SIGINT), 0);
    return reply.json().value("tolerance", "");
  };
  EXPECT_EQ(say(R"({"view":"edge","tolerance":"0.002"})"), "0.002 in");
  EXPECT_EQ(test::file_text(shop),
            "# my shop\nunits = \"in\"\nland = \"0.3mm\"\ntolerance = \"0.002 in\"\n\n"
            "[printed-bar]\nedge = \"199.4mm\"\n");
  EXPECT_EQ(say(R"({"view":"edge","tolerance":"0.003"})"), "0.003 in");
  EXPECT_EQ(say(R"({"view":"faces"})"), "");
  EXPECT_EQ(say(R"({"view":"edge"})"), "0.003 in") << "the next start finds it there";
  EXPECT_EQ(say(R"({"view":"edge","tolerance":""})"), "");
  EXPECT_EQ(test::file_text(shop),
            "# my shop\nunits = \"in\"\nland = \"0.3mm\"\n\n[printed-bar]\nedge = "
            "\"199.4mm\"\n");
  std::filesystem::remove(shop);
}

TEST(BenchCommandBadInput, WhatCannotBeServedIsSaid) {
  const auto run = [](const std::string& options) {
    return test::run_program("timeout 20 " + std::string(PROGRAM) + " bench --port 0 " + options);
  };
  EXPECT_EQ(run("--certificate shop.pem").exit_code, 2);
  EXPECT_EQ(run("--port 70000").exit_code, 2);
  const test::ScratchFolder folder;
  test::write_file(folder / "file", "no folder");
  const test::ProgramRun no_folder = run("--folder " + (folder / "file").string());
  EXPECT_EQ(no_folder.exit_code, 3);
  EXPECT_THAT(no_folder.output, HasSubstr("--folder"));
  const std::string pem = (folder / "file").string();
  const test::ProgramRun no_key =
      run("--folder " + (folder / "bench").string() + " --certificate " + pem + " --key " + pem);
  EXPECT_EQ(no_key.exit_code, 3);
  EXPECT_THAT(no_key.output, HasSubstr("certificate"));
}

TEST(BenchCommandBadInput, ACameraThatIsNotThereIsNamed) {
  const test::ScratchFolder folder;
  const std::string bench = "timeout 20 " + std::string(PROGRAM) +
                            " bench --local --port 0 --folder " + (folder / "bench").string();
  const test::ProgramRun none = test::run_program(bench + " --camera 97");
  EXPECT_EQ(none.exit_code, 3);
  EXPECT_THAT(none.output, HasSubstr("camera 97 cannot be opened"));
  EXPECT_EQ(test::run_program(bench + " --camera-file usb.yml").exit_code, 2);
}

TEST(BenchCommandOutside, WithACertificateItSpeaksHttps) {
  if (test::run_program("command -v openssl && command -v curl").exit_code != 0) {
    GTEST_SKIP() << "openssl or curl is not installed";
  }
  const test::ScratchFolder folder;
  const std::string here = folder.path().string();
  const test::ProgramRun run = test::run_program(
      "cd " + here +
      "; openssl req -x509 -newkey rsa:2048 -nodes -keyout key.pem -out cert.pem -days 2 -subj "
      "/CN=localhost -addext subjectAltName=DNS:localhost 2>/dev/null; exec timeout 60 " PROGRAM
      " bench --local --port 0 --certificate cert.pem --key key.pem > out.txt 2>&1 & cd " +
      here +
      "; for i in $(seq 300); do grep -qs https out.txt && break; sleep 0.1; done; curl -s "
      "--cacert "
      "cert.pem -D - \"$(grep -o 'https://.*' out.txt)\"; kill $!");
  EXPECT_THAT(run.output, AllOf(HasSubstr("200 OK"), HasSubstr("; Secure"), HasSubstr("</html>")));
}

}  // namespace
}  // namespace evenbevel
