#include "running_bench.hpp"

#include <chrono>
#include <stdexcept>

#include <unistd.h>

namespace evenbevel::test {

BenchSettings with_limits(const BenchLimits& limits) {
  BenchSettings settings;
  settings.limits = limits;
  return settings;
}

BenchSettings with_camera(const std::string& source) {
  BenchSettings settings;
  settings.camera_source = source;
  return settings;
}

RunningBench::RunningBench(BenchSettings settings) {
  settings.local = true;
  settings.folder = folder();
  settings.record_file = record_file();
  server_.emplace(std::move(settings));
  if (::pipe(stop_) != 0) throw std::runtime_error("no pipe");
  runs_ = std::thread([this] { waiting_ = server_->run(stop_[0]); });
  entered_ = entered_by(ask({.target = "/?t=" + token()}));
}

RunningBench::~RunningBench() {
  stop();
  ::close(stop_[0]);
  ::close(stop_[1]);
}

std::size_t RunningBench::stop() {
  if (runs_.joinable()) {
    const char byte = 0;
    (void)!::write(stop_[1], &byte, 1);
    runs_.join();
  }
  return waiting_;
}

std::string RunningBench::address() const {
  return "http://localhost:" + std::to_string(port()) + "/?t=" + token();
}

HttpReply RunningBench::get(const std::string& target) const {
  return ask({.target = target, .headers = entered_});
}

HttpReply RunningBench::post(const std::string& target, const std::string& body) const {
  return ask({.method = "POST", .target = target, .headers = entered_, .body = body});
}

nlohmann::json RunningBench::job_done(int job) const {
  for (;;) {
    const nlohmann::json state = get("/state?job=" + std::to_string(job)).json();
    const std::string now = state["job"]["state"];
    if ((now == "measured" || now == "refused") && state["job"]["keeping"] != "waiting") {
      return state;
    }
    std::this_thread::sleep_for(std::chrono::milliseconds(20));
  }
}

std::vector<std::string> RunningBench::stored() const {
  std::vector<std::string> names;
  for (const auto& file : std::filesystem::directory_iterator(folder() / "photos")) {
    names.push_back(file.path().filename().string());
  }
  return names;
}

}  // namespace evenbevel::test
