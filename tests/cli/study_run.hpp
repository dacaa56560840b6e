#pragma once

#include <filesystem>
#include <map>
#include <string>

#include <gmock/gmock.h>
#include <nlohmann/json.hpp>

#include "edge_run.hpp"
#include "run_program.hpp"
#include "scratch_folder.hpp"

namespace evenbevel::test {

/// `evenbevel study` as a maker runs it, in a scratch folder.
class StudyRun {
 public:
  std::filesystem::path operator/(const std::string& name) const { return folder_ / name; }
  std::filesystem::path out() const { return folder_ / "out"; }

  std::string file(const std::string& name, const std::string& text) const {
    std::filesystem::create_directories((folder_ / name).parent_path());
    write_file(folder_ / name, text);
    return (folder_ / name).string();
  }

  ProgramRun run(const std::string& arguments) const {
    return run_program(std::string(PROGRAM) + " study " + arguments + " -o " + out().string());
  }

  nlohmann::json json() const { return nlohmann::json::parse(file_text(out() / "study.json")); }

  /// This exit code, a message that says `said`, and nothing written.
  void expect_refused(const std::string& arguments, int exit_code,
                      const testing::Matcher<std::string>& said) const {
    const ProgramRun result = run(arguments);
    EXPECT_EQ(result.exit_code, exit_code) << result.output;
    EXPECT_THAT(result.output, said);
    if (exit_code == 3) {
      EXPECT_THAT(result.output, testing::HasSubstr("\n  do: "));
    }
    EXPECT_FALSE(std::filesystem::exists(out())) << arguments;
  }

 private:
  ScratchFolder folder_;
};

/// What a measuring command writes, as far as a study reads it.
inline std::string small_report(const std::string& view, const std::string& quantity, double value,
                                const std::string& settings = "{}") {
  return R"({"schema": "evenbevel.report/1", "view": ")" + view + R"(", "quantities": {")" +
         quantity + R"(": {"value": )" + std::to_string(value) +
         R"(, "u": 0.004, "U95": 0.008}}, "settings": )" + settings + "}";
}

}  // namespace evenbevel::test
