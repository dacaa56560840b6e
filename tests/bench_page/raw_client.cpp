#include "raw_client.hpp"

#include <array>
#include <cstdlib>
#include <stdexcept>

#include <arpa/inet.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <unistd.h>

namespace evenbevel::test {

RawConnection::RawConnection(std::uint16_t port) : socket_(::socket(AF_INET, SOCK_STREAM, 0)) {
  sockaddr_in to{};
  to.sin_family = AF_INET;
  to.sin_port = htons(port);
  to.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  if (::connect(socket_, reinterpret_cast<const sockaddr*>(&to), sizeof to) != 0) {
    throw std::runtime_error("nobody listens");
  }
}

RawConnection::~RawConnection() {
  if (socket_ >= 0) ::close(socket_);
}

bool RawConnection::send(const std::string& bytes) {
  for (std::size_t at = 0; at < bytes.size();) {
    const ssize_t sent = ::send(socket_, bytes.data() + at, bytes.size() - at, MSG_NOSIGNAL);
    if (sent <= 0) return false;
    at += static_cast<std::size_t>(sent);
  }
  return true;
}

bool RawConnection::read_some(std::string& text) {
  std::array<char, 65536> chunk{};
  const ssize_t count = ::recv(socket_, chunk.data(), chunk.size(), 0);
  if (count <= 0) return false;
  text.append(chunk.data(), static_cast<std::size_t>(count));
  return true;
}

std::string RawConnection::read_to_end() {
  std::string text;
  while (read_some(text)) {
  }
  return text;
}

std::string RawConnection::read_answer() {
  std::string text;
  const std::string name = "Content-Length: ";
  do {
    const std::size_t end = text.find("\r\n\r\n"), at = text.find(name);
    if (end == std::string::npos || at == std::string::npos) continue;
    const std::size_t length = std::strtoul(text.c_str() + at + name.size(), nullptr, 10);
    if (text.size() >= end + 4 + length) return text;
  } while (read_some(text));
  return text;
}

void RawConnection::drop() {
  const linger at_once{1, 0};
  ::setsockopt(socket_, SOL_SOCKET, SO_LINGER, &at_once, sizeof at_once);
  ::close(socket_);
  socket_ = -1;
}

HttpReply reply_of(const std::string& bytes) {
  HttpReply reply;
  const std::size_t end = bytes.find("\r\n\r\n");
  if (end == std::string::npos || bytes.size() < 12) return reply;
  reply.status = std::atoi(bytes.c_str() + 9);
  reply.head = bytes.substr(0, end + 2);
  reply.body = bytes.substr(end + 4);
  return reply;
}

std::string entered_by(const HttpReply& page) {
  const std::string name = "Set-Cookie: ";
  const std::size_t at = page.head.find(name);
  if (at == std::string::npos) return {};
  const std::size_t from = at + name.size();
  return "Cookie: " + page.head.substr(from, page.head.find(';', from) - from) +
         "\r\nX-Bench-Page: 1\r\n";
}

std::string bytes_of(const HttpRequest& request, std::uint16_t port) {
  std::string text = request.method + " " + request.target + " HTTP/1.1\r\n";
  if (request.headers.find("Host:") == std::string::npos) {
    text += "Host: 127.0.0.1:" + std::to_string(port) + "\r\n";
  }
  text += request.headers;
  if (!request.body.empty()) {
    text += "Content-Length: " + std::to_string(request.body.size()) + "\r\n";
  }
  return text + "\r\n" + request.body;
}

HttpReply ask(std::uint16_t port, const HttpRequest& request) {
  RawConnection connection(port);
  connection.send(bytes_of(request, port));
  return reply_of(connection.read_answer());
}

}  // namespace evenbevel::test
