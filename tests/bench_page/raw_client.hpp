#pragma once

#include <cstdint>
#include <string>

#include <nlohmann/json.hpp>

namespace evenbevel::test {

/// A TCP connection to this computer, on which anything may be sent.
class RawConnection {
 public:
  explicit RawConnection(std::uint16_t port);
  ~RawConnection();
  RawConnection(const RawConnection&) = delete;
  RawConnection& operator=(const RawConnection&) = delete;

  /// @return  Whether all of it was taken.
  bool send(const std::string& bytes);
  /// Until the other end closes.
  std::string read_to_end();
  /// Of one answer with its length.
  std::string read_answer();
  void drop();  ///< At once, as a phone that left the network.

 private:
  bool read_some(std::string& text);
  int socket_ = -1;
};

struct HttpReply {
  int status = 0;
  std::string head, body;
  nlohmann::json json() const { return nlohmann::json::parse(body); }
};
HttpReply reply_of(const std::string& bytes);

struct HttpRequest {
  std::string method = "GET", target = "/";
  std::string headers = {};  ///< Whole lines with their ends; Host is added unless one is there.
  std::string body = {};
};
/// The header lines of a page's own requests, from the answer that let it in: cookie and mark.
std::string entered_by(const HttpReply& page);
std::string bytes_of(const HttpRequest& request, std::uint16_t port);
HttpReply ask(std::uint16_t port, const HttpRequest& request);

}  // namespace evenbevel::test
