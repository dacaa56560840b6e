#include "report/write_files.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <cerrno>
#include <charconv>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <cstring>
#include <fstream>
#include <future>
#include <iterator>
#include <optional>
#include <span>
#include <vector>

#include <fcntl.h>
#include <sys/file.h>
#include <sys/wait.h>
#include <unistd.h>

#include "evenbevel/error.hpp"
#include "evenbevel/photo.hpp"
#include "units/own_file.hpp"

namespace evenbevel {
namespace {

namespace fs = std::filesystem;

constexpr const char *kReport = "report.json", *kStations = "stations.csv", *kPlaces = "places.csv";

Error cannot_write(const fs::path& path, const std::string& why) {
  return {"the report cannot be written to " + path.string() + ": " + why,
          "choose another folder with -o, or free some space; reports that were there before are "
          "untouched"};
}

/// This machine's name, as it stands in a temporary file's: letters, digits and hyphens.
std::string host() {
  std::array<char, 256> name{};
  if (::gethostname(name.data(), name.size() - 1) != 0) return "-";
  std::string plain;
  for (const char c : std::string_view(name.data())) {
    plain += std::isalnum(static_cast<unsigned char>(c)) != 0 ? c : '-';
  }
  return plain.empty() ? "-" : plain;
}

/// Who writes a temporary file, such as ".report.json.bench.1234.new".
struct Owner {
  std::string host;
  pid_t process = 0;
};

std::optional<Owner> owner_of(const std::string& temporary_name) {
  if (!temporary_name.starts_with('.')) return std::nullopt;
  if (!temporary_name.ends_with(".new") && !temporary_name.ends_with(".old")) return std::nullopt;
  const std::string stem = temporary_name.substr(0, temporary_name.size() - 4);
  const std::size_t process_at = stem.rfind('.') + 1;
  const std::size_t host_at = stem.rfind('.', process_at - 2) + 1;
  Owner owner{.host = stem.substr(host_at, process_at - 1 - host_at)};
  const char* end_of_name = stem.data() + stem.size();
  const auto [end, fault] = std::from_chars(stem.data() + process_at, end_of_name, owner.process);
  if (fault != std::errc() || end != end_of_name || owner.process <= 0) return std::nullopt;
  return owner;
}

/// A folder on a network is also written from other machines, whose processes are not seen here.
bool is_old(const fs::path& path) {
  std::error_code fault;
  const fs::file_time_type written = fs::last_write_time(path, fault);
  return !fault && fs::file_time_type::clock::now() - written > std::chrono::hours(1);
}

bool is_left_over(const Owner& owner, const fs::path& path) {
  if (owner.host != host()) return is_old(path);
  return ::kill(owner.process, 0) != 0 && errno == ESRCH;
}

/// What a run that was killed half-way left behind in the folder.
void remove_leftovers(const fs::path& folder, std::span<const ReportFile> files) {
  std::error_code ignored;
  std::vector<fs::path> leftovers;
  for (const fs::directory_entry& entry : fs::directory_iterator(folder, ignored)) {
    const std::string file = entry.path().filename().string();
    const std::optional<Owner> owner = owner_of(file);
    if (!owner || !is_left_over(*owner, entry.path())) continue;
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

/// One at a time: two runs into one folder do not mix their files. Waited for; a child shares it.
class FolderLock {
 public:
  explicit FolderLock(const fs::path& folder)
      : folder_(::open(folder.c_str(), O_RDONLY | O_DIRECTORY)) {
    while (folder_ >= 0 && ::flock(folder_, LOCK_EX) != 0 && errno == EINTR) {
    }
  }
  ~FolderLock() {
    if (folder_ >= 0) ::close(folder_);
  }
  FolderLock(const FolderLock&) = delete;
  FolderLock& operator=(const FolderLock&) = delete;

 private:
  int folder_;
};

/// New files under temporary names, and how to get back. Whatever was not kept is removed.
class Replacement {
 public:
  Replacement(fs::path folder, std::span<const ReportFile> files) : folder_(std::move(folder)) {
    made_folder_ = make_folder();
    own_report_ = std::ranges::any_of(files, [&](const ReportFile& file) {
      return file.name.ends_with(".json") && is_own_file(folder_ / file.name, "{");
    });
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
    // Plain numbers do not tell who wrote them; the report that they belong to does.
    if (!(target.extension() == ".csv" && own_report_)) require_own_file(target, report.bytes);
    names_.push_back(report.name);
    errno = 0;
    std::ofstream file(temporary(report.name), std::ios::binary | std::ios::trunc);
    file.write(report.bytes.data(), static_cast<std::streamsize>(report.bytes.size()));
    file.close();
    if (!file) throw cannot_write(target, reason());
  }

  void keep_all() {
    const FolderLock lock(folder_);
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
    return folder_ / ("." + name + "." + host() + "." + std::to_string(::getpid()) + "." + kind);
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
  bool own_report_ = false;  ///< There before, by evenbevel.
  bool done_ = false;
};

}  // namespace

void write_files(const fs::path& folder, std::span<const ReportFile> files) {
  Replacement replacement(folder, files);
  remove_leftovers(folder, files);
  for (const ReportFile& file : files) replacement.write(file);
  replacement.keep_all();
}

namespace {

std::string report_text(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

/// A photo to be measured may have the name of a file that is to be written.
void require_no_input(const fs::path& folder, const std::vector<StatedPhoto>& photos,
                      std::span<const ReportFile> files) {
  std::error_code ignored;
  for (const StatedPhoto& photo : photos) {
    for (const ReportFile& file : files) {
      if (!fs::equivalent(photo.name, folder / file.name, ignored)) continue;
      throw Error("the report would take the place of the photo " + photo.name,
                  "give another folder with -o");
    }
  }
}

/// A second look at the same photo replaces the first one's report; another photo's stays.
void require_same_photos(const fs::path& folder, const std::vector<StatedPhoto>& here) {
  const fs::path earlier = folder / kReport;
  std::error_code ignored;
  if (!fs::exists(earlier, ignored)) return;
  require_own_file(earlier, "{");
  std::vector<StatedPhoto> there;
  try {
    there = read_statement(report_text(earlier)).provenance.photos;
  } catch (const Error&) {
    return;  // ours, but from a run that was cut off: of no use to anybody
  }
  const bool same = std::ranges::equal(there, here, [](const StatedPhoto& a, const StatedPhoto& b) {
    return a.name == b.name || (!a.sha256.empty() && a.sha256 == b.sha256);
  });
  if (same || there.empty()) return;
  throw Error(folder.string() + " holds the report of another photo, " + there.front().name +
                  ": it is left alone",
              "give another folder with -o, or leave -o out: each photo then has a folder of its "
              "own");
}

}  // namespace

ReportContents report_contents(const Statement& statement, const ReportSettings& settings,
                               const DrawPicture& draw, const char* picture_words) {
  const auto encoded = [](const cv::Mat& bgr) { return encode_jpeg(bgr, kPictureQuality); };
  auto other = std::async(std::launch::async, [&] {
    ReportSettings with = settings;
    with.unit = settings.unit == LengthUnit::mm ? LengthUnit::inch : LengthUnit::mm;
    return encoded(draw(with).without_head());
  });
  const AnnotatedPicture picture = draw(settings);
  auto whole = std::async(std::launch::async, encoded, picture.bgr);
  ReportContents report;
  report.photos = statement.provenance.photos;
  report.json = statement_json(statement);
  report.csv = stations_csv(statement);
  report.places_csv = places_csv(statement);
  report.html =
      statement_page(statement, {picture_words, encoded(picture.without_head()), other.get()});
  report.picture_jpeg = whole.get();
  return report;
}

void write_report(const fs::path& folder, const ReportContents& report) {
  const std::string_view picture(reinterpret_cast<const char*>(report.picture_jpeg.data()),
                                 report.picture_jpeg.size());
  require_same_photos(folder, report.photos);
  std::vector files = {ReportFile{"annotated.jpg", picture}, ReportFile{kReport, report.json},
                       ReportFile{kStations, report.csv}, ReportFile{"report.html", report.html}};
  if (!report.places_csv.empty()) files.push_back({kPlaces, report.places_csv});
  require_no_input(folder, report.photos, files);
  write_files(folder, files);
  // Of an earlier report in the same folder: its places are none of this one's.
  std::error_code ignored;
  if (report.places_csv.empty()) fs::remove(folder / kPlaces, ignored);
}

}  // namespace evenbevel
