#include "file_bytes.hpp"

#include <cstdio>
#include <memory>
#include <system_error>

#include "decoders.hpp"

namespace evenbevel {
namespace {

constexpr std::uintmax_t kMostFileBytes = std::uintmax_t{1} << 30;

struct CloseFile {
  void operator()(std::FILE* file) const { (void)std::fclose(file); }
};

std::uintmax_t checked_size(const std::filesystem::path& path, const Photo& photo) {
  std::error_code failure;
  const std::filesystem::file_status status = std::filesystem::status(path, failure);
  if (!std::filesystem::exists(status)) {
    reject(photo, "there is no such file", "check the name and the folder");
  }
  if (std::filesystem::is_directory(status)) {
    reject(photo, "is a folder, not a photo", "give the photo itself");
  }
  if (!std::filesystem::is_regular_file(status)) {
    reject(photo, "is not an ordinary file", "save the photo to a file first");
  }
  const std::uintmax_t size = std::filesystem::file_size(path, failure);
  if (failure) reject(photo, "cannot be read", "check that you may read the file");
  if (size == 0) reject(photo, "is empty (zero bytes)", "copy the photo from the camera again");
  if (size > kMostFileBytes) {
    reject(photo, "is larger than a photo can be (over 1 GiB)", "give a photo");
  }
  return size;
}

}  // namespace

std::vector<uchar> file_bytes(const std::filesystem::path& path, const Photo& photo) {
  std::vector<uchar> bytes(checked_size(path, photo));
  const std::unique_ptr<std::FILE, CloseFile> file(std::fopen(path.c_str(), "rb"));
  if (!file || std::fread(bytes.data(), 1, bytes.size(), file.get()) != bytes.size()) {
    reject(photo, "cannot be read", "check that you may read the file");
  }
  return bytes;
}

}  // namespace evenbevel
