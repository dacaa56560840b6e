#include "evenbevel/bench.hpp"

#include "bench/addresses.hpp"
#include "bench/guard.hpp"
#include "bench/live_bench.hpp"
#include "bench/on_bench.hpp"
#include "bench/routes.hpp"
#include "bench/server.hpp"

namespace evenbevel {

struct BenchServer::Inside {
  explicit Inside(BenchSettings given)
      : settings(std::move(given)),
        token(bench::random_token()),
        on_bench(settings),
        live(settings.camera_source.empty()
                 ? nullptr
                 : std::make_unique<bench::LiveBench>(settings, on_bench)),
        routes(on_bench, live.get(), settings, token),
        server(settings, routes.handling()) {}

  BenchSettings settings;
  std::string token;
  bench::OnBench on_bench;
  std::unique_ptr<bench::LiveBench> live;  ///< Null: there is no camera.
  bench::Routes routes;
  bench::HttpServer server;
};

BenchServer::BenchServer(BenchSettings settings)
    : inside_(std::make_unique<Inside>(std::move(settings))) {}
BenchServer::~BenchServer() = default;

std::uint16_t BenchServer::port() const { return inside_->server.port(); }
const std::string& BenchServer::token() const { return inside_->token; }

std::vector<std::string> BenchServer::addresses() const {
  const BenchSettings& settings = inside_->settings;
  std::vector<std::string> hosts;
  if (!settings.local) hosts = bench::network_addresses();
  if (hosts.empty()) hosts.push_back("localhost");
  const std::string scheme = settings.certificate.empty() ? "http://" : "https://";
  for (std::string& host : hosts) {
    host = scheme + host + ":" + std::to_string(port()) + "/?t=" + token();
  }
  return hosts;
}

std::size_t BenchServer::run(int stop) {
  inside_->server.run(stop);
  inside_->live.reset();
  return inside_->on_bench.stop();
}

}  // namespace evenbevel
