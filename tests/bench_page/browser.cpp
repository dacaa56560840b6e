#include "browser.hpp"

#include <array>
#include <chrono>
#include <csignal>
#include <fstream>
#include <stdexcept>
#include <thread>
#include <vector>

#include <fcntl.h>
#include <poll.h>
#include <sys/wait.h>
#include <unistd.h>

#include "run_program.hpp"

namespace evenbevel::test {
namespace {

using nlohmann::json;

constexpr int kReads = 3, kWrites = 4;  // Chromium's ends of the pipes
constexpr int kPatience_ms = 60'000;

std::string from_base64(const std::string& text) {
  std::string bytes;
  unsigned value = 0;
  int bits = 0;
  for (const char c : text) {
    static const std::string digits =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    const std::size_t digit = digits.find(c);
    if (digit == std::string::npos) break;
    value = (value << 6U) | static_cast<unsigned>(digit);
    bits += 6;
    if (bits < 8) continue;
    bits -= 8;
    bytes += static_cast<char>((value >> static_cast<unsigned>(bits)) & 0xFFU);
  }
  return bytes;
}

}  // namespace

bool Browser::installed() { return run_program("command -v chromium").exit_code == 0; }

Browser::Browser(const std::filesystem::path& profile, const std::string& address,
                 const Window& window) {
  std::array<int, 2> commands{}, replies{};
  if (::pipe(commands.data()) != 0 || ::pipe(replies.data()) != 0) {
    throw std::runtime_error("no pipe");
  }
  const std::string folder = "--user-data-dir=" + profile.string();
  process_ = ::fork();
  if (process_ == 0) {
    // Past the numbers that they are to be put on.
    const int reads = ::fcntl(commands[0], F_DUPFD, 10), writes = ::fcntl(replies[1], F_DUPFD, 10);
    ::dup2(reads, kReads);
    ::dup2(writes, kWrites);
    const int nowhere = ::open("/dev/null", O_WRONLY);
    ::dup2(nowhere, STDERR_FILENO);
    ::execlp("chromium", "chromium", "--headless", "--no-sandbox", "--disable-gpu",
             "--disable-background-networking", "--disable-component-update", "--no-first-run",
             "--remote-debugging-pipe", folder.c_str(), "about:blank", nullptr);
    ::_exit(127);
  }
  ::close(commands[0]);
  ::close(replies[1]);
  to_ = commands[1];
  from_ = replies[0];
  const json target = call("Target.createTarget", {{"url", "about:blank"}});
  session_ = call("Target.attachToTarget", {{"targetId", target.at("targetId")}, {"flatten", true}})
                 .at("sessionId");
  call("Emulation.setDeviceMetricsOverride", {{"width", window.width},
                                              {"height", window.height},
                                              {"deviceScaleFactor", 1},
                                              {"mobile", window.width < 600}});
  const json scheme = {{"name", "prefers-color-scheme"}, {"value", window.dark ? "dark" : "light"}};
  call("Emulation.setEmulatedMedia", {{"features", json::array({scheme})}});
  call("Page.navigate", {{"url", address}});
}

Browser::~Browser() {
  ::close(to_);
  ::close(from_);
  ::kill(process_, SIGTERM);
  ::waitpid(process_, nullptr, 0);
}

json Browser::read_message() {
  for (;;) {
    const std::size_t end = unread_.find('\0');
    if (end != std::string::npos) {
      const json message = json::parse(unread_.substr(0, end));
      unread_.erase(0, end + 1);
      return message;
    }
    pollfd wait{from_, POLLIN, 0};
    std::array<char, 65536> chunk{};
    const ssize_t count =
        ::poll(&wait, 1, kPatience_ms) == 1 ? ::read(from_, chunk.data(), chunk.size()) : 0;
    if (count <= 0) throw std::runtime_error("the browser does not answer");
    unread_.append(chunk.data(), static_cast<std::size_t>(count));
  }
}

json Browser::call(const std::string& method, const json& params) {
  const int id = ++last_id_;
  json message = {{"id", id}, {"method", method}};
  message["params"] = params.is_null() ? json::object() : params;
  if (!session_.empty()) message["sessionId"] = session_;
  const std::string text = message.dump() + '\0';
  if (::write(to_, text.data(), text.size()) != static_cast<ssize_t>(text.size())) {
    throw std::runtime_error("the browser is gone");
  }
  for (;;) {
    const json reply = read_message();
    if (reply.value("id", 0) != id) continue;
    if (reply.contains("error")) throw std::runtime_error(method + ": " + reply["error"].dump());
    return reply.value("result", json::object());
  }
}

json Browser::evaluate(const std::string& script) {
  const json reply = call("Runtime.evaluate", {{"expression", script}, {"returnByValue", true}});
  return reply.at("result").value("value", json());
}

bool Browser::wait_until(const std::string& script) {
  constexpr int kTries = 600;
  for (int i = 0; i < kTries; ++i) {
    if (evaluate(script) == true) return true;
    std::this_thread::sleep_for(std::chrono::milliseconds(50));
  }
  return false;
}

void Browser::choose_file(const std::string& selector, const std::filesystem::path& file) {
  const json document = call("DOM.getDocument");
  const json node = call("DOM.querySelector",
                         {{"nodeId", document.at("root").at("nodeId")}, {"selector", selector}});
  call("DOM.setFileInputFiles",
       {{"files", json::array({file.string()})}, {"nodeId", node.at("nodeId")}});
}

void Browser::take_screenshot(const std::filesystem::path& png) {
  const json shot = call("Page.captureScreenshot", {{"format", "png"}});
  std::ofstream(png, std::ios::binary) << from_base64(shot.at("data"));
}

}  // namespace evenbevel::test
