#pragma once

#include <string>
#include <string_view>

namespace evenbevel::bench {

/// 32 hexadecimal digits from the system's random source.
std::string random_token();

/// In a time that does not tell how much of it is right.
bool same_secret(std::string_view given, std::string_view secret);

/// An IP address or localhost, with or without a port: any other name may be a stranger's that
/// was pointed at this computer (DNS rebinding).
bool host_allowed(std::string_view host);

/// Empty: not there.
std::string cookie_value(std::string_view cookies, std::string_view name);

/// Of "/result?job=3"; empty: not there. Values are taken as they stand.
std::string query_value(std::string_view target, std::string_view name);
std::string_view path_of(std::string_view target);

}  // namespace evenbevel::bench
