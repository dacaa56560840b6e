#include "units/sha256.hpp"

#include <array>
#include <fstream>
#include <iterator>
#include <stdexcept>

#include <openssl/evp.h>

namespace evenbevel {

std::string sha256(std::string_view bytes) {
  constexpr std::size_t kBytes = 32;
  std::array<unsigned char, kBytes> digest{};
  if (EVP_Digest(bytes.data(), bytes.size(), digest.data(), nullptr, EVP_sha256(), nullptr) != 1) {
    throw std::runtime_error("libcrypto has no SHA-256");
  }
  constexpr std::string_view kHex = "0123456789abcdef";
  std::string hex;
  for (const unsigned char byte : digest) {
    hex.push_back(kHex[byte >> 4U]);
    hex.push_back(kHex[byte & 15U]);
  }
  return hex;
}

std::optional<std::string> sha256_of_file(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  if (!file) return std::nullopt;
  const std::string bytes{std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
  if (file.bad()) return std::nullopt;
  return sha256(bytes);
}

}  // namespace evenbevel
