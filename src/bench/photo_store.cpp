#include "bench/photo_store.hpp"

#include <array>
#include <cerrno>
#include <charconv>
#include <csignal>
#include <fstream>
#include <string>
#include <string_view>

#include <fcntl.h>
#include <unistd.h>

#include "evenbevel/error.hpp"
#include "units/sha256.hpp"

namespace evenbevel::bench {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view kIncoming = ".incoming-", kPart = ".part";

/// By its first bytes; without any it is not of a format that is known.
std::string ending_of(std::string_view begin) {
  if (begin.starts_with("\xFF\xD8")) return ".jpg";
  if (begin.starts_with("\x89PNG")) return ".png";
  if (begin.starts_with("II*") || begin.starts_with("MM")) return ".tif";
  return begin.size() > 8 && begin.substr(4, 4) == "ftyp" ? ".heic" : "";
}

std::string first_bytes(const fs::path& file) {
  std::array<char, 12> bytes{};
  std::ifstream in(file, std::ios::binary);
  in.read(bytes.data(), bytes.size());
  return {bytes.data(), static_cast<std::size_t>(in.gcount())};
}

/// So that a photo that was promised to be there is there after a power cut.
bool sync_to_disk(const fs::path& path) {
  const int file = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  if (file < 0) return false;
  const bool done = ::fsync(file) == 0;
  ::close(file);
  return done;
}

/// Of ".incoming-1234-7.part", 1234; 0 of anything else.
pid_t writer_of(std::string_view name) {
  if (!name.starts_with(kIncoming) || !name.ends_with(kPart)) return 0;
  name.remove_prefix(kIncoming.size());
  pid_t process = 0;
  const auto [end, fault] = std::from_chars(name.data(), name.data() + name.size(), process);
  return fault == std::errc() ? process : 0;
}

Error not_stored() {
  return {"the photo could not be stored", "see whether the disk is full, then send it again"};
}

}  // namespace

PhotoStore::PhotoStore(fs::path folder) : folder_(std::move(folder)) {
  std::error_code failure;
  fs::create_directories(folder_, failure);
  if (failure || ::access(folder_.c_str(), W_OK) != 0) {
    throw Error("the folder " + folder_.string() + " cannot be written",
                "name another with --folder, or check your rights there");
  }
  remove_left_over();
}

void PhotoStore::remove_left_over() const {
  std::error_code ignored;
  for (const fs::directory_entry& entry : fs::directory_iterator(folder_, ignored)) {
    const pid_t writer = writer_of(entry.path().filename().string());
    if (writer > 0 && ::kill(writer, 0) != 0 && errno == ESRCH) fs::remove(entry.path(), ignored);
  }
}

fs::path PhotoStore::incoming_file() {
  return folder_ / (std::string(kIncoming) + std::to_string(::getpid()) + "-" +
                    std::to_string(++uploads_) + std::string(kPart));
}

fs::path PhotoStore::take(const fs::path& incoming) {
  const std::optional<std::string> hash = sha256_of_file(incoming);
  if (!hash || !sync_to_disk(incoming)) throw not_stored();
  fs::path photo = folder_ / (*hash + ending_of(first_bytes(incoming)));
  std::error_code failure;
  fs::rename(incoming, photo, failure);
  if (failure) throw not_stored();
  sync_to_disk(folder_);
  return photo;
}

}  // namespace evenbevel::bench
