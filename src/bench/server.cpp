#include "bench/server.hpp"

#include <algorithm>
#include <array>
#include <chrono>
#include <fstream>
#include <list>
#include <utility>  // before asio/awaitable.hpp, which forgets it
#include <vector>

#include <boost/asio/awaitable.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/posix/stream_descriptor.hpp>
#include <boost/asio/redirect_error.hpp>
#include <boost/asio/ssl/context.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/beast/core.hpp>
#include <boost/beast/http.hpp>
#include <boost/beast/ssl.hpp>
#include <unistd.h>

#include "evenbevel/error.hpp"

namespace evenbevel::bench {
namespace {

namespace net = boost::asio;
namespace beast = boost::beast;
namespace http = beast::http;
using net::ip::tcp;
using Clock = std::chrono::steady_clock;
using Plain = beast::tcp_stream;
using Secure = beast::ssl_stream<beast::tcp_stream>;
using Parser = http::request_parser<http::buffer_body>;

constexpr std::size_t kChunkBytes = 65536;
constexpr std::size_t kReadAheadBytes = 131072;
constexpr std::chrono::seconds kAnswerTime{30};
constexpr std::chrono::seconds kParting{1};  // for the answer to arrive before the reset
constexpr std::chrono::milliseconds kNoDescriptors{100};

/// One of those that are connected.
struct Guest {
  tcp::socket* socket = nullptr;
  bool admitted = false;  ///< Has shown the token.
};

/// A request's body, to memory or to a file that is gone again unless it was taken over.
class BodySink {
 public:
  explicit BodySink(const Admission& admission) : most_(admission.most_bytes) {
    body_.file = admission.into_file;
    if (!body_.file.empty()) out_.open(body_.file, std::ios::binary | std::ios::trunc);
  }
  ~BodySink() {
    std::error_code ignored;
    if (!body_.file.empty()) std::filesystem::remove(body_.file, ignored);
  }
  BodySink(const BodySink&) = delete;
  BodySink& operator=(const BodySink&) = delete;

  /// 0: taken; else the status to answer with.
  int take(const char* bytes, std::size_t count) {
    size_ += count;
    if (size_ > most_) return 413;
    if (body_.file.empty()) {
      body_.text.append(bytes, count);
      return 0;
    }
    out_.write(bytes, static_cast<std::streamsize>(count));
    return out_ ? 0 : 507;
  }

  int finish() {
    if (body_.file.empty()) return 0;
    out_.close();
    return out_ ? 0 : 507;
  }

  const RequestBody& body() const { return body_; }

 private:
  RequestBody body_;
  std::ofstream out_;
  std::size_t most_ = 0, size_ = 0;
};

Answer plain_answer(int status, const std::string& wrong, const std::string& todo) {
  return {
      status, "application/json", "{\"wrong\":\"" + wrong + "\",\"todo\":\"" + todo + "\"}", {}};
}

Answer fault_answer(int status) {
  switch (status) {
    case 413:
      return plain_answer(413, "the upload is too large",
                          "send one photo as the phone's camera makes it, 40 MB at most");
    case 431:
      return plain_answer(431, "the request is too long", "reload the page");
    case 503:
      return plain_answer(503, "too many are connected", "wait a few seconds, then try again");
    case 507:
      return plain_answer(507, "the photo could not be stored",
                          "see whether the computer's disk is full, then send it again");
    default:
      return plain_answer(400, "the request is not understood", "reload the page");
  }
}

/// 0: the connection broke, or nobody spoke in time; there is nobody to answer to.
int status_of(const beast::error_code& failure) {
  if (failure == http::error::header_limit || failure == http::error::buffer_overflow) return 431;
  if (failure == http::error::body_limit) return 413;
  if (failure == http::error::end_of_stream || failure == http::error::partial_message) return 0;
  const beast::error_code of_http = http::error::bad_method;
  return failure.category() == of_http.category() ? 400 : 0;
}

http::response<http::string_body> response_of(const Answer& answer, bool keep_alive) {
  http::response<http::string_body> response;
  response.version(11);
  response.result(static_cast<unsigned>(answer.status));
  response.set(http::field::content_type, answer.type);
  response.set(http::field::cache_control, "no-store");
  response.set("X-Content-Type-Options", "nosniff");
  response.set("Referrer-Policy", "no-referrer");
  for (const auto& [name, value] : answer.headers) response.set(name, value);
  response.body() = answer.body;
  response.keep_alive(keep_alive);
  response.prepare_payload();
  return response;
}

RequestHead head_of(const Parser::value_type& request) {
  const auto text = [](beast::string_view view) { return std::string(view.data(), view.size()); };
  RequestHead head{.method = text(request.method_string()),
                   .target = text(request.target()),
                   .host = text(request[http::field::host]),
                   .cookie = text(request[http::field::cookie])};
  head.by_page = request.count("X-Bench-Page") == 1;
  if (request.count(http::field::host) != 1) head.host.clear();
  return head;
}

Plain& lowest(Plain& stream) { return stream; }
Plain& lowest(Secure& stream) { return stream.next_layer(); }

tcp::endpoint endpoint_of(const BenchSettings& settings) {
  const net::ip::address_v4 address =
      settings.local ? net::ip::address_v4::loopback() : net::ip::address_v4::any();
  return {address, settings.port};
}

}  // namespace

struct HttpServer::Inside {
  Inside(const BenchSettings& settings, Handling given)
      : limits(settings.limits), handling(std::move(given)) {
    if (!settings.certificate.empty()) read_certificate(settings);
    const tcp::endpoint endpoint = endpoint_of(settings);
    try {
      acceptor.open(endpoint.protocol());
      acceptor.set_option(net::socket_base::reuse_address(true));
      acceptor.bind(endpoint);
      acceptor.listen();
    } catch (const boost::system::system_error& e) {
      throw Error(
          "port " + std::to_string(settings.port) + " cannot be listened at: " + e.code().message(),
          "name another with --port, or end the program that has it");
    }
  }

  void read_certificate(const BenchSettings& settings) {
    try {
      tls.use_certificate_chain_file(settings.certificate.string());
      tls.use_private_key_file(settings.key.string(), net::ssl::context::pem);
      secure = true;
    } catch (const boost::system::system_error& e) {
      throw Error("the certificate " + settings.certificate.string() + " with the key " +
                      settings.key.string() + " cannot be used: " + e.code().message(),
                  "give both as PEM files that belong together");
    }
  }

  net::awaitable<void> accept_all();
  net::awaitable<void> receive(tcp::socket socket);
  net::awaitable<void> wait_for(net::posix::stream_descriptor& stop);
  template <class Stream>
  net::awaitable<void> converse(Stream& stream, Guest& guest);
  template <class Stream>
  net::awaitable<bool> answer_one(Stream& stream, beast::flat_buffer& buffer, Guest& guest);
  template <class Stream>
  net::awaitable<int> read_body(Stream& stream, beast::flat_buffer& buffer, Parser& parser,
                                BodySink& sink);
  template <class Stream>
  net::awaitable<bool> send(Stream& stream, const Answer& answer, bool keep_alive);
  template <class Stream>
  net::awaitable<void> part(Stream& stream);
  bool make_room();

  BenchLimits limits;
  Handling handling;
  bool secure = false;
  net::ssl::context tls{net::ssl::context::tls_server};
  std::list<Guest> guests;  // outlives the conversations, which end with `io`
  net::io_context io{1};
  tcp::acceptor acceptor{io};
};

net::awaitable<void> HttpServer::Inside::wait_for(net::posix::stream_descriptor& stop) {
  beast::error_code ignored;
  co_await stop.async_wait(net::posix::stream_descriptor::wait_read,
                           net::redirect_error(net::use_awaitable, ignored));
  io.stop();
}

/// When all places are taken, the one that has been quiet longest without the token leaves.
bool HttpServer::Inside::make_room() {
  if (guests.size() < limits.connections) return true;
  const auto idle = std::ranges::find_if(guests, [](const Guest& one) { return !one.admitted; });
  if (idle == guests.end()) return false;
  beast::error_code ignored;
  idle->socket->close(ignored);
  idle->admitted = true;  // on its way out; not to be chosen again
  return true;
}

net::awaitable<void> HttpServer::Inside::accept_all() {
  for (;;) {
    beast::error_code failure;
    tcp::socket socket =
        co_await acceptor.async_accept(net::redirect_error(net::use_awaitable, failure));
    if (failure == net::error::operation_aborted) co_return;
    if (failure) {
      net::steady_timer pause(io, kNoDescriptors);
      co_await pause.async_wait(net::redirect_error(net::use_awaitable, failure));
      continue;
    }
    if (!make_room()) continue;  // closes it
    net::co_spawn(io, receive(std::move(socket)), net::detached);
  }
}

net::awaitable<void> HttpServer::Inside::receive(tcp::socket socket) {
  const auto place = guests.insert(guests.end(), Guest{});
  struct Leave {
    std::list<Guest>& guests;
    std::list<Guest>::iterator place;
    ~Leave() { guests.erase(place); }
  };
  if (!secure) {
    Plain stream(std::move(socket));
    place->socket = &stream.socket();
    const Leave leave{guests, place};
    co_await converse(stream, *place);
    co_return;
  }
  Secure stream(Plain(std::move(socket)), tls);
  place->socket = &stream.next_layer().socket();
  const Leave leave{guests, place};
  stream.next_layer().expires_after(limits.header_time);
  beast::error_code failure;
  co_await stream.async_handshake(net::ssl::stream_base::server,
                                  net::redirect_error(net::use_awaitable, failure));
  if (!failure) co_await converse(stream, *place);
}

template <class Stream>
net::awaitable<void> HttpServer::Inside::converse(Stream& stream, Guest& guest) {
  beast::flat_buffer buffer(kReadAheadBytes);
  for (bool more = true; more;) more = co_await answer_one(stream, buffer, guest);
}

/// @return  Whether the connection may be used again.
template <class Stream>
net::awaitable<bool> HttpServer::Inside::answer_one(Stream& stream, beast::flat_buffer& buffer,
                                                    Guest& guest) {
  Parser parser;
  parser.header_limit(static_cast<std::uint32_t>(limits.header_bytes));
  parser.body_limit(limits.photo_bytes);
  lowest(stream).expires_after(limits.header_time);
  beast::error_code failure;
  co_await http::async_read_header(stream, buffer, parser,
                                   net::redirect_error(net::use_awaitable, failure));
  int status = failure ? status_of(failure) : 0;
  if (failure && status == 0) co_return false;
  if (status != 0) {
    const Answer fault = fault_answer(status);
    co_await send(stream, fault, false);
    co_await part(stream);
    co_return false;
  }
  const RequestHead head = head_of(parser.get());
  const Admission admission = handling.admit(head);
  if (admission.refusal) {
    const bool whole = parser.is_done();
    const bool sent = co_await send(stream, *admission.refusal, whole && parser.keep_alive());
    if (!whole) co_await part(stream);
    co_return sent&& whole&& parser.keep_alive();
  }
  guest.admitted = true;
  BodySink sink(admission);
  status = co_await read_body(stream, buffer, parser, sink);
  if (status < 0) co_return false;
  if (status == 0) status = sink.finish();
  if (status > 0) {
    const Answer fault = fault_answer(status);
    co_await send(stream, fault, false);
    co_await part(stream);
    co_return false;
  }
  const Answer answer = handling.answer(head, sink.body());
  const bool sent = co_await send(stream, answer, parser.keep_alive());
  co_return sent&& parser.keep_alive();
}

/// @return  0: whole; below: the connection broke; else the status to answer with.
template <class Stream>
net::awaitable<int> HttpServer::Inside::read_body(Stream& stream, beast::flat_buffer& buffer,
                                                  Parser& parser, BodySink& sink) {
  beast::error_code failure;
  if (!parser.is_done() && beast::iequals(parser.get()[http::field::expect], "100-continue")) {
    http::response<http::empty_body> go_on{http::status::continue_, 11};
    lowest(stream).expires_after(kAnswerTime);
    co_await http::async_write(stream, go_on, net::redirect_error(net::use_awaitable, failure));
    if (failure) co_return -1;
  }
  std::vector<char> chunk(parser.is_done() ? 0 : kChunkBytes);
  const Clock::time_point end = Clock::now() + limits.body_time;
  while (!parser.is_done()) {
    parser.get().body().data = chunk.data();
    parser.get().body().size = chunk.size();
    lowest(stream).expires_at(std::min(Clock::now() + limits.chunk_time, end));
    co_await http::async_read(stream, buffer, parser,
                              net::redirect_error(net::use_awaitable, failure));
    if (failure == http::error::need_buffer) failure = {};
    if (failure) {
      const int status = status_of(failure);
      co_return status == 0 ? -1 : status;
    }
    const int status = sink.take(chunk.data(), chunk.size() - parser.get().body().size);
    if (status != 0) co_return status;
  }
  co_return 0;
}

template <class Stream>
net::awaitable<bool> HttpServer::Inside::send(Stream& stream, const Answer& answer,
                                              bool keep_alive) {
  http::response<http::string_body> response = response_of(answer, keep_alive);
  lowest(stream).expires_after(kAnswerTime);
  beast::error_code failure;
  co_await http::async_write(stream, response, net::redirect_error(net::use_awaitable, failure));
  co_return !failure;
}

/// Closing while the other one still sends would take the answer away from it.
template <class Stream>
net::awaitable<void> HttpServer::Inside::part(Stream& stream) {
  beast::error_code failure;
  lowest(stream).socket().shutdown(tcp::socket::shutdown_send, failure);
  lowest(stream).expires_after(kParting);
  std::vector<char> unread(kChunkBytes);
  while (!failure) {
    co_await lowest(stream).async_read_some(net::buffer(unread),
                                            net::redirect_error(net::use_awaitable, failure));
  }
}

HttpServer::HttpServer(const BenchSettings& settings, Handling handling)
    : inside_(std::make_unique<Inside>(settings, std::move(handling))) {}
HttpServer::~HttpServer() = default;

std::uint16_t HttpServer::port() const { return inside_->acceptor.local_endpoint().port(); }

void HttpServer::run(int stop) {
  net::posix::stream_descriptor descriptor(inside_->io, ::dup(stop));
  net::co_spawn(inside_->io, inside_->wait_for(descriptor), net::detached);
  net::co_spawn(inside_->io, inside_->accept_all(), net::detached);
  inside_->io.run();
  beast::error_code ignored;
  inside_->acceptor.close(ignored);
}

}  // namespace evenbevel::bench
