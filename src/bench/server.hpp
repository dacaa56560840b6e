#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "evenbevel/bench.hpp"

namespace evenbevel::bench {

/// What is known of a request before its body has come.
struct RequestHead {
  std::string method = {}, target = {}, host = {}, cookie = {};
  bool by_page = false;  ///< With the header that no form and no foreign page can send.
};

struct RequestBody {
  std::string text = {};
  std::filesystem::path file = {};  ///< Instead, where the admission named one.
};

struct Answer {
  int status = 200;
  std::string type = "application/json";
  std::string body = {};
  std::vector<std::pair<std::string, std::string>> headers = {};
};

/// Whether a request's body is read at all, how much of it and where to.
struct Admission {
  std::optional<Answer> refusal = {};
  std::size_t most_bytes = 0;
  std::filesystem::path into_file = {};  ///< Empty: into memory.
};

/// What the server asks for each request; both on the server's own thread.
struct Handling {
  std::function<Admission(const RequestHead&)> admit;
  std::function<Answer(const RequestHead&, const RequestBody&)> answer;
};

/// HTTP/1.1, or HTTPS with a certificate, within limits; knows nothing of knives.
class HttpServer {
 public:
  /// @throws Error  The port is taken, the certificate or key cannot be read.
  HttpServer(const BenchSettings& settings, Handling handling);
  ~HttpServer();
  HttpServer(const HttpServer&) = delete;
  HttpServer& operator=(const HttpServer&) = delete;

  std::uint16_t port() const;
  /// Until the descriptor becomes readable.
  void run(int stop);

 private:
  struct Inside;
  std::unique_ptr<Inside> inside_;
};

}  // namespace evenbevel::bench
