#pragma once

#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "evenbevel/bench.hpp"
#include "raw_client.hpp"
#include "scratch_folder.hpp"

namespace evenbevel::test {

BenchSettings with_limits(const BenchLimits& limits);
BenchSettings with_camera(const std::string& source);

/// A bench on a free port with a folder and a record of its own.
class RunningBench {
 public:
  explicit RunningBench(BenchSettings settings = {});
  ~RunningBench();
  RunningBench(const RunningBench&) = delete;
  RunningBench& operator=(const RunningBench&) = delete;

  std::uint16_t port() const { return server_->port(); }
  const std::string& token() const { return server_->token(); }
  std::string address() const;
  std::filesystem::path folder() const { return scratch_ / "bench"; }
  std::filesystem::path record_file() const { return scratch_ / "record.sqlite"; }
  std::filesystem::path scratch() const { return scratch_.path(); }

  HttpReply ask(const HttpRequest& request) const { return test::ask(port(), request); }
  /// The header lines of the page's own requests: cookie and mark.
  std::string entered() const { return entered_; }
  HttpReply get(const std::string& target) const;
  HttpReply post(const std::string& target, const std::string& body) const;
  HttpReply choose(const nlohmann::json& choice) const { return post("/choose", choice.dump()); }
  /// Waits until the job is done. @return  As the page sees it.
  nlohmann::json job_done(int job) const;
  /// Files of the folder of photos.
  std::vector<std::string> stored() const;
  std::size_t stop();

 private:
  ScratchFolder scratch_;
  std::optional<BenchServer> server_;
  int stop_[2] = {};
  std::size_t waiting_ = 0;
  std::thread runs_;
  std::string entered_;
};

}  // namespace evenbevel::test
