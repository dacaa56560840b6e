#include <algorithm>
#include <array>
#include <cctype>
#include <string>
#include <string_view>
#include <system_error>

#include "evenbevel/error.hpp"
#include "evenbevel/photo.hpp"

namespace evenbevel {
namespace {

bool named_like_a_photo(const std::filesystem::path& path) {
  constexpr std::array<std::string_view, 7> kEndings{".jpg",  ".jpeg", ".png", ".tif",
                                                     ".tiff", ".heic", ".heif"};
  if (path.filename().string().starts_with('.')) return false;
  std::string ending = path.extension().string();
  for (char& c : ending) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return std::ranges::find(kEndings, ending) != kEndings.end();
}

}  // namespace

std::vector<std::filesystem::path> photo_files(const std::filesystem::path& path) {
  std::error_code failure;
  if (!std::filesystem::exists(path, failure)) {
    throw Error("there is no file or folder " + path.string(), "check the name and the folder");
  }
  if (!std::filesystem::is_directory(path, failure)) return {path};
  std::vector<std::filesystem::path> found;
  std::filesystem::directory_iterator entries(path, failure);
  if (failure) {
    throw Error("folder " + path.string() + " cannot be read", "check that you may read it");
  }
  for (const std::filesystem::directory_entry& entry : entries) {
    if (!entry.is_directory(failure) && named_like_a_photo(entry.path())) {
      found.push_back(entry.path());
    }
  }
  if (found.empty()) {
    throw Error("folder " + path.string() + " holds no photo (JPEG, HEIC, PNG or TIFF)",
                "give a folder with photos in it");
  }
  std::ranges::sort(found);
  return found;
}

}  // namespace evenbevel
