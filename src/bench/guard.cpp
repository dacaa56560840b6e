#include "bench/guard.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <stdexcept>

#include <arpa/inet.h>
#include <openssl/crypto.h>
#include <unistd.h>

namespace evenbevel::bench {
namespace {

bool is_address(int family, const std::string& text) {
  std::array<unsigned char, sizeof(in6_addr)> bytes{};
  return ::inet_pton(family, text.c_str(), bytes.data()) == 1;
}

bool is_port(std::string_view text) {
  constexpr std::size_t kMostDigits = 5;
  return !text.empty() && text.size() <= kMostDigits &&
         std::ranges::all_of(text, [](unsigned char c) { return std::isdigit(c) != 0; });
}

/// The value of the first "name=value" of a list.
std::string value_of(std::string_view list, char separator, std::string_view name) {
  while (!list.empty()) {
    const std::size_t end = std::min(list.find(separator), list.size());
    std::string_view one = list.substr(0, end);
    one.remove_prefix(std::min(one.find_first_not_of(' '), one.size()));
    if (one.size() > name.size() && one.starts_with(name) && one[name.size()] == '=') {
      return std::string(one.substr(name.size() + 1));
    }
    list.remove_prefix(std::min(end + 1, list.size()));
  }
  return {};
}

}  // namespace

std::string random_token() {
  std::array<unsigned char, 16> bytes{};
  if (::getentropy(bytes.data(), bytes.size()) != 0) {
    throw std::runtime_error("no random numbers from the system");
  }
  constexpr std::string_view kDigits = "0123456789abcdef";
  std::string token;
  for (const unsigned char byte : bytes) {
    token += kDigits[byte >> 4U];
    token += kDigits[byte & 15U];
  }
  return token;
}

bool same_secret(std::string_view given, std::string_view secret) {
  return given.size() == secret.size() &&
         CRYPTO_memcmp(given.data(), secret.data(), secret.size()) == 0;
}

bool host_allowed(std::string_view host) {
  std::string name(host);
  std::string_view port;
  if (name.starts_with('[')) {
    const std::size_t close = name.find(']');
    if (close == std::string::npos) return false;
    const std::string rest = name.substr(close + 1);
    if (!rest.empty() && (rest.front() != ':' || !is_port(rest.substr(1)))) return false;
    return is_address(AF_INET6, name.substr(1, close - 1));
  }
  const std::size_t colon = host.find(':');
  if (colon != std::string_view::npos) {
    port = host.substr(colon + 1);
    if (!is_port(port)) return false;
    name.resize(colon);
  }
  std::ranges::transform(name, name.begin(),
                         [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return name == "localhost" || is_address(AF_INET, name);
}

std::string cookie_value(std::string_view cookies, std::string_view name) {
  return value_of(cookies, ';', name);
}

std::string query_value(std::string_view target, std::string_view name) {
  const std::size_t mark = target.find('?');
  return mark == std::string_view::npos ? "" : value_of(target.substr(mark + 1), '&', name);
}

std::string_view path_of(std::string_view target) { return target.substr(0, target.find('?')); }

}  // namespace evenbevel::bench
