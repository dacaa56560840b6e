#include "units/own_file.hpp"

#include <algorithm>
#include <fstream>
#include <functional>
#include <string>
#include <string_view>
#include <system_error>

#include "evenbevel/error.hpp"

namespace evenbevel {

bool is_own_file(const std::filesystem::path& file, std::string_view begins) {
  constexpr std::string_view kMark = "evenbevel";
  std::ifstream in(file, std::ios::binary | std::ios::ate);
  std::string bytes(in ? static_cast<std::size_t>(in.tellg()) : 0, '\0');
  in.seekg(0).read(bytes.data(), static_cast<std::streamsize>(bytes.size()));
  if (!bytes.starts_with(begins)) return false;
  const auto end = bytes.end();
  return std::search(bytes.begin(), end,
                     std::boyer_moore_horspool_searcher(kMark.begin(), kMark.end())) != end;
}

void require_own_file(const std::filesystem::path& file, std::string_view by) {
  constexpr std::size_t kKind = 4;  // Bytes that tell the formats written here apart.
  std::error_code ignored;
  if (!std::filesystem::is_regular_file(file, ignored)) return;
  if (is_own_file(file, by.substr(0, kKind))) return;
  throw Error(
      file.string() + " is there already and was not written by evenbevel: it is left alone",
      "give another name with -o, or move that file away");
}

}  // namespace evenbevel
