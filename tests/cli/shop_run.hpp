#pragma once

#include <filesystem>
#include <string>

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "run_program.hpp"
#include "scratch_folder.hpp"

namespace evenbevel::test {

/// A maker's own configuration and data folder, with the program run in them.
class ShopRun : public testing::Test {
 protected:
  /// Writes shop.toml.
  void shop_says(const std::string& toml) const {
    std::filesystem::create_directories(shop_file().parent_path());
    write_file(shop_file(), toml);
  }
  std::filesystem::path shop_file() const { return folder_ / "config/evenbevel/shop.toml"; }
  std::filesystem::path cameras() const { return folder_ / "data/evenbevel/cameras"; }
  std::string out() const { return (folder_ / "out").string(); }

  ProgramRun run(const std::string& arguments) const {
    return run_program("XDG_CONFIG_HOME=" + (folder_ / "config").string() + " XDG_DATA_HOME=" +
                       (folder_ / "data").string() + " " + PROGRAM + " " + arguments);
  }
  /// As one line, wherever the terminal's lines were broken.
  static std::string in_one_line(const std::string& output) {
    std::string line;
    for (const char c : output) {
      const bool space = c == ' ' || c == '\n';
      if (!space || (!line.empty() && line.back() != ' ')) line += space ? ' ' : c;
    }
    return line;
  }
  /// `settings` of the report in `out`.
  nlohmann::json settings() const { return report().at("settings"); }
  nlohmann::json report() const {
    return nlohmann::json::parse(file_text(folder_ / "out/report.json"));
  }

  ScratchFolder folder_;
};

}  // namespace evenbevel::test
