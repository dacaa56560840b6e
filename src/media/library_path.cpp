#include "media/library_path.hpp"

#include <string>

#include <dlfcn.h>
#include <link.h>

#include "evenbevel/error.hpp"

namespace evenbevel {
namespace fs = std::filesystem;

namespace {

/// The file that holds this very function. The dynamic linker knows the program itself by no name.
fs::path own_file() {
  Dl_info info{};
  void* map = nullptr;
  const bool known =
      dladdr1(reinterpret_cast<void*>(&own_folder), &info, &map, RTLD_DL_LINKMAP) != 0;
  const char* library = known ? static_cast<const link_map*>(map)->l_name : "";
  return library[0] != '\0' ? fs::path(library) : fs::path("/proc/self/exe");
}

[[noreturn]] void refuse(const std::vector<fs::path>& searched) {
  std::string folders;
  for (const fs::path& folder : searched)
    folders += (folders.empty() ? "" : ", ") + folder.string();
  throw Error(
      "the library for videos, windows and unusual pictures, evenbevel_media.so, is in none"
      " of these folders: " +
          folders,
      "install evenbevel again; a JPEG photo can be measured without it");
}

}  // namespace

fs::path own_folder() { return fs::canonical(own_file()).parent_path(); }

std::vector<fs::path> media_folders(const fs::path& own) {
  return {own, (own / EVENBEVEL_MEDIA_FROM_PROGRAM).lexically_normal(),
          (own / EVENBEVEL_MEDIA_FROM_LIBRARY).lexically_normal(), EVENBEVEL_MEDIA_INSTALLED};
}

fs::path media_library() {
  const std::vector<fs::path> folders = media_folders(own_folder());
  for (const fs::path& folder : folders) {
    std::error_code unreadable;
    fs::path library = folder / "evenbevel_media.so";
    if (fs::is_regular_file(library, unreadable)) return library;
  }
  refuse(folders);
}

}  // namespace evenbevel
