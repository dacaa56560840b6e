#include "report/write_files.hpp"

#include <cerrno>
#include <charconv>
#include <csignal>
#include <cstdio>
#include <cstring>
#include <fstream>
#include <optional>
#include <span>
#include <vector>

#include <sys/wait.h>
#include <unistd.h>

#include "evenbevel/error.hpp"

namespace evenbevel {
namespace {

namespace fs = std::filesystem;

Error cannot_write(const fs::path& path, const std::string& why) {
  return {"the report cannot be written to " + path.string() + ": " + why,
          "choose another folder with -o, or free some space; reports that were there before are "
          "untouched"};
}

/// The process that a temporary file's name, such as ".report.json.1234.new", belongs to.
std::optional<pid_t> owner_of(const std::string& temporary_name) {
  if (!temporary_name.starts_with('.')) return std::nullopt;
  if (!temporary_name.ends_with(".new") && !temporary_name.ends_with(".old")) return std::nullopt;
  const std::string stem = temporary_name.substr(0, temporary_name.size() - 4);
  const std::string digits = stem.substr(stem.rfind('.') + 1);
  pid_t owner = 0;
  const auto [end, fault] = std::from_chars(digits.data(), digits.data() + digits.size(), owner);
  if (fault != std::errc() || end != digits.data() + digits.size() || owner <= 0) {
    return std::nullopt;
  }
  return owner;
}

/// What a run that was killed half-way left behind in the folder.
void remove_leftovers(const fs::path& folder, std::span<const ReportFile> files) {
  std::error_code ignored;
  std::vector<fs::path> leftovers;
  for (const fs::directory_entry& entry : fs::directory_iterator(folder, ignored)) {
    const std::string file = entry.path().filename().string();
    const std::optional<pid_t> owner = owner_of(file);
    if (!owner || (::kill(*owner, 0) == 0 || errno != ESRCH)) continue;
    for (const ReportFile& report : files) {
      if (file.starts_with("." + report.name + ".")) leftovers.push_back(entry.path());
    }
  }
  for (const fs::path& path : leftovers) fs::remove(path, ignored);
}

struct Move {
  std::string from, to;
};

/// 0, or the first fault's errno.
int move_all(const std::vector<Move>& moves) {
  for (const Move& move : moves) {
    if (std::rename(move.from.c_str(), move.to.c_str()) != 0) return errno;
  }
  return 0;
}

/// The same in a process of its own: who kills this program, or its whole group, between two moves
/// leaves no mixture of two reports.
int move_all_unstoppably(const std::vector<Move>& moves) {
  const pid_t child = ::fork();
  if (child < 0) return move_all(moves);
  if (child == 0) {
    ::setsid();
    ::_exit(move_all(moves));
  }
  int status = 0;
  while (::waitpid(child, &status, 0) < 0) {
    if (errno != EINTR) return EIO;
  }
  return WIFEXITED(status) ? WEXITSTATUS(status) : EIO;
}

/// New files under temporary names, and how to get back. Whatever was not kept is removed.
class Replacement {
 public:
  explicit Replacement(fs::path folder) : folder_(std::move(folder)) {
    made_folder_ = make_folder();
  }
  ~Replacement() {
    std::error_code ignored;
    for (const std::string& name : names_) {
      fs::remove(temporary(name), ignored);
      fs::remove(backup(name), ignored);
    }
    if (made_folder_ && !done_) fs::remove(folder_, ignored);  // only when empty
  }
  Replacement(const Replacement&) = delete;
  Replacement& operator=(const Replacement&) = delete;

  void write(const ReportFile& report) {
    const fs::path target = folder_ / report.name;
    if (fs::is_directory(target)) throw cannot_write(target, "a folder has that name");
    names_.push_back(report.name);
    errno = 0;
    std::ofstream file(temporary(report.name), std::ios::binary | std::ios::trunc);
    file.write(report.bytes.data(), static_cast<std::streamsize>(report.bytes.size()));
    file.close();
    if (!file) throw cannot_write(target, reason());
  }

  void keep_all() {
    for (const std::string& name : names_) save_earlier(name);
    std::vector<Move> moves;
    for (const std::string& name : names_) {
      moves.push_back({temporary(name).string(), (folder_ / name).string()});
    }
    if (const int fault = move_all_unstoppably(moves); fault != 0) {
      const std::string name = first_not_moved();
      put_back();
      throw cannot_write(folder_ / name, std::strerror(fault));
    }
    done_ = true;
  }

 private:
  static std::string reason() { return errno != 0 ? std::strerror(errno) : "writing failed"; }

  bool make_folder() {
    std::error_code fault;
    const bool made = fs::create_directories(folder_, fault);
    if (fault || !fs::is_directory(folder_)) {
      throw cannot_write(folder_, fault ? fault.message() : "it is not a folder");
    }
    return made;
  }

  // Two runs into one folder must not share a temporary name.
  fs::path hidden(const std::string& name, const char* kind) const {
    return folder_ / ("." + name + "." + std::to_string(::getpid()) + "." + kind);
  }
  fs::path temporary(const std::string& name) const { return hidden(name, "new"); }
  fs::path backup(const std::string& name) const { return hidden(name, "old"); }

  /// A second name for the earlier file; a copy where the file system knows no links.
  void save_earlier(const std::string& name) {
    const fs::path target = folder_ / name;
    if (!fs::exists(target)) return;
    std::error_code fault;
    fs::create_hard_link(target, backup(name), fault);
    if (fault) fs::copy_file(target, backup(name), fs::copy_options::overwrite_existing, fault);
    if (fault) throw cannot_write(target, fault.message());
  }

  std::string first_not_moved() const {
    for (const std::string& name : names_) {
      if (fs::exists(temporary(name))) return name;
    }
    return names_.back();
  }

  void put_back() {
    std::error_code ignored;
    for (const std::string& name : names_) {
      if (fs::exists(backup(name))) {
        fs::rename(backup(name), folder_ / name, ignored);
      } else if (!fs::exists(temporary(name))) {
        fs::remove(folder_ / name, ignored);  // ours, and nothing was there before
      }
    }
  }

  fs::path folder_;
  std::vector<std::string> names_;
  bool made_folder_ = false;
  bool done_ = false;
};

}  // namespace

void write_files(const fs::path& folder, std::span<const ReportFile> files) {
  Replacement replacement(folder);
  remove_leftovers(folder, files);
  for (const ReportFile& file : files) replacement.write(file);
  replacement.keep_all();
}

void write_report(const fs::path& folder, const ReportContents& report) {
  const std::string_view picture(reinterpret_cast<const char*>(report.picture_jpeg.data()),
                                 report.picture_jpeg.size());
  std::vector files = {ReportFile{"annotated.jpg", picture}, ReportFile{"report.json", report.json},
                       ReportFile{"stations.csv", report.csv},
                       ReportFile{"report.html", report.html}};
  if (!report.places_csv.empty()) files.push_back({"places.csv", report.places_csv});
  write_files(folder, files);
  // Of an earlier report in the same folder: its places are none of this one's.
  std::error_code ignored;
  if (report.places_csv.empty()) fs::remove(folder / "places.csv", ignored);
}

}  // namespace evenbevel
