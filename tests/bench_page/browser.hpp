#pragma once

#include <filesystem>
#include <string>

#include <nlohmann/json.hpp>
#include <sys/types.h>

namespace evenbevel::test {

/// A headless Chromium, driven through its DevTools pipe (--remote-debugging-pipe): JSON messages
/// with a zero byte behind each.
class Browser {
 public:
  static bool installed();

  struct Window {
    int width = 390, height = 844;
    bool dark = false;
  };
  /// @param profile  A folder that need not be there.
  Browser(const std::filesystem::path& profile, const std::string& address, const Window& window);
  ~Browser();
  Browser(const Browser&) = delete;
  Browser& operator=(const Browser&) = delete;

  nlohmann::json evaluate(const std::string& script);
  /// Waits until the script gives true. @return  False: it did not, in half a minute.
  bool wait_until(const std::string& script);
  /// As a hand does in the file dialog.
  void choose_file(const std::string& selector, const std::filesystem::path& file);
  void take_screenshot(const std::filesystem::path& png);

 private:
  nlohmann::json call(const std::string& method, const nlohmann::json& params = {});
  nlohmann::json read_message();

  pid_t process_ = -1;
  int to_ = -1, from_ = -1, last_id_ = 0;
  std::string session_, unread_;
};

}  // namespace evenbevel::test
