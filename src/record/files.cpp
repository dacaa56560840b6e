#include "record/files.hpp"

#include <algorithm>
#include <atomic>
#include <cerrno>
#include <chrono>
#include <csignal>
#include <cstdlib>
#include <cstring>
#include <fstream>
#include <iterator>
#include <system_error>
#include <vector>

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include "evenbevel/error.hpp"
#include "units/sha256.hpp"

namespace evenbevel {
namespace {

namespace fs = std::filesystem;

Error cannot_write(const fs::path& path, int fault) {
  return {path.string() + " cannot be written: " + std::strerror(fault),
          "check the folder and your rights there, or free some space; what was there before is "
          "untouched"};
}

class Descriptor {
 public:
  Descriptor(const fs::path& path, int flags) : number_(::open(path.c_str(), flags, 0666)) {}
  ~Descriptor() {
    if (number_ >= 0) ::close(number_);
  }
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  bool is_open() const { return number_ >= 0; }
  int number() const { return number_; }

 private:
  int number_;
};

/// 0, or errno.
int write_all(int file, std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t written = ::write(file, bytes.data(), bytes.size());
    if (written < 0 && errno == EINTR) continue;
    if (written < 0) return errno;
    bytes.remove_prefix(static_cast<std::size_t>(written));
  }
  return 0;
}

/// The name's own place on the disk.
void flush_folder(const fs::path& folder) {
  const Descriptor descriptor(folder.empty() ? fs::path(".") : folder, O_RDONLY | O_DIRECTORY);
  if (descriptor.is_open()) ::fsync(descriptor.number());
}

/// Two processes, or two calls, never share one.
fs::path temporary_name(const fs::path& path) {
  static std::atomic<unsigned> count{0};
  return path.parent_path() / ("." + path.filename().string() + "." + std::to_string(::getpid()) +
                               "." + std::to_string(count++) + ".new");
}

void replace(const fs::path& path, std::string_view bytes, bool durable) {
  const fs::path temporary = temporary_name(path);
  int fault = 0;
  {
    const Descriptor file(temporary, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC);
    if (!file.is_open()) throw cannot_write(path, errno);
    fault = write_all(file.number(), bytes);
    if (fault == 0 && durable && ::fsync(file.number()) != 0) fault = errno;
  }
  if (fault == 0 && ::rename(temporary.c_str(), path.c_str()) != 0) fault = errno;
  if (fault != 0) {
    ::unlink(temporary.c_str());
    throw cannot_write(path, fault);
  }
  if (durable) flush_folder(path.parent_path());
}

/// The process in ".NAME.PROCESS.COUNT.new"; 0: no such name.
pid_t owner_of(const std::string& name) {
  if (!name.starts_with('.') || !name.ends_with(".new")) return 0;
  const std::string stem = name.substr(0, name.size() - 4);
  const std::size_t count = stem.rfind('.');
  const std::size_t process = count == 0 ? 0 : stem.rfind('.', count - 1);
  if (process == 0 || process == std::string::npos) return 0;
  return static_cast<pid_t>(std::atol(stem.substr(process + 1, count - process - 1).c_str()));
}

/// A folder on a network is also written from other machines, whose processes are not seen here.
bool is_old(const fs::path& path) {
  std::error_code fault;
  const fs::file_time_type written = fs::last_write_time(path, fault);
  return !fault && fs::file_time_type::clock::now() - written > std::chrono::hours(1);
}

}  // namespace

std::string read_whole(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  std::error_code ignored;
  if (!file || fs::is_directory(path, ignored)) {
    throw Error(path.string() + " cannot be read", "check the name and your rights there");
  }
  std::string bytes{std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
  if (file.bad()) throw Error(path.string() + " cannot be read to its end", "check the disk");
  return bytes;
}

void make_folder(const fs::path& folder) {
  if (folder.empty() || fs::is_directory(folder)) return;
  make_folder(folder.parent_path());
  if (::mkdir(folder.c_str(), 0777) != 0 && errno != EEXIST) throw cannot_write(folder, errno);
  if (!fs::is_directory(folder)) throw cannot_write(folder, ENOTDIR);
  flush_folder(folder.parent_path());
}

void write_durably(const fs::path& path, std::string_view bytes) { replace(path, bytes, true); }

void flush_all(const fs::path& folder) {
  const Descriptor descriptor(folder, O_RDONLY | O_DIRECTORY);
  if (!descriptor.is_open() || ::syncfs(descriptor.number()) != 0)
    throw cannot_write(folder, errno);
}

void write_replacing(const fs::path& path, std::string_view bytes) { replace(path, bytes, false); }

void remove_leftovers_in(const fs::path& folder) {
  std::error_code ignored;
  std::vector<fs::path> leftovers;
  for (const fs::directory_entry& file : fs::directory_iterator(folder, ignored)) {
    const pid_t owner = owner_of(file.path().filename().string());
    const bool dead = owner > 0 && ::kill(owner, 0) != 0 && errno == ESRCH;
    if (dead && is_old(file.path())) leftovers.push_back(file.path());
  }
  for (const fs::path& path : leftovers) fs::remove(path, ignored);
}

bool holds(const fs::path& path, const std::string& sha256) {
  return sha256_of_file(path) == sha256;
}

}  // namespace evenbevel
