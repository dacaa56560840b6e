#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

namespace evenbevel {

/// SHA-256 (FIPS 180-4) as 64 hexadecimal digits.
std::string sha256(std::string_view bytes);

/// Of a file; empty when it cannot be read.
std::optional<std::string> sha256_of_file(const std::filesystem::path& path);

}  // namespace evenbevel
