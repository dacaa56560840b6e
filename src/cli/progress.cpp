#include "progress.hpp"

#include <algorithm>

namespace evenbevel::cli {

Photo read_shown(const std::filesystem::path& path) {
  std::string ending = path.extension().string();
  std::ranges::transform(ending, ending.begin(), [](char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c;
  });
  Progress progress;
  if (ending == ".heic" || ending == ".heif") {
    progress.moment("decoding " + path.filename().string() + " ...");
  }
  Photo photo = read_photo(path);
  progress.clear();
  return photo;
}

}  // namespace evenbevel::cli
