#include "bench/addresses.hpp"

#include <algorithm>
#include <array>
#include <memory>
#include <string_view>
#include <utility>

#include <arpa/inet.h>
#include <ifaddrs.h>
#include <net/if.h>

namespace evenbevel::bench {
namespace {

/// Lower is likelier to be reached by a phone.
int rank_of(std::string_view interface, const std::string& address) {
  constexpr std::array<std::string_view, 6> kVirtual = {"docker", "br-",   "virbr",
                                                        "veth",   "vmnet", "tun"};
  const auto begins = [&](std::string_view with) { return interface.starts_with(with); };
  if (std::ranges::any_of(kVirtual, begins)) return 2;
  return address.starts_with("192.168.") || address.starts_with("10.") ? 0 : 1;
}

}  // namespace

std::vector<std::string> network_addresses() {
  ifaddrs* first = nullptr;
  if (::getifaddrs(&first) != 0) return {};
  const std::unique_ptr<ifaddrs, decltype(&::freeifaddrs)> all(first, ::freeifaddrs);
  std::vector<std::pair<int, std::string>> ranked;
  for (const ifaddrs* one = first; one != nullptr; one = one->ifa_next) {
    const bool usable = (one->ifa_flags & IFF_UP) != 0 && (one->ifa_flags & IFF_LOOPBACK) == 0;
    if (!usable || one->ifa_addr == nullptr || one->ifa_addr->sa_family != AF_INET) continue;
    std::array<char, INET_ADDRSTRLEN> text{};
    const auto* address = reinterpret_cast<const sockaddr_in*>(one->ifa_addr);
    if (::inet_ntop(AF_INET, &address->sin_addr, text.data(), text.size()) == nullptr) continue;
    ranked.emplace_back(rank_of(one->ifa_name, text.data()), text.data());
  }
  std::ranges::stable_sort(ranked, {}, &std::pair<int, std::string>::first);
  std::vector<std::string> addresses;
  for (auto& [rank, address] : ranked) addresses.push_back(std::move(address));
  return addresses;
}

}  // namespace evenbevel::bench
