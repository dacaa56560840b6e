#include <array>
#include <cerrno>
#include <cstring>
#include <fstream>

#include <unistd.h>

#include "evenbevel/error.hpp"
#include "evenbevel/report.hpp"

namespace evenbevel {
namespace {

namespace fs = std::filesystem;

Error cannot_write(const fs::path& path, const std::string& why) {
  return {"the report cannot be written to " + path.string() + ": " + why,
          "choose another folder with -o, or free some space; reports that were there before are "
          "untouched"};
}

struct ReportFile {
  std::string name;
  std::string_view bytes;
};

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
    for (const std::string& name : names_) {
      std::error_code fault;
      fs::rename(temporary(name), folder_ / name, fault);
      if (fault) {
        put_back();
        throw cannot_write(folder_ / name, fault.message());
      }
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

std::string_view view(const std::vector<uchar>& bytes) {
  return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
}

}  // namespace

void write_edge_report(const EdgeResult& result, const EdgeSettings& measured_with,
                       const Photo& photo, const CameraModel& camera,
                       const ReportSettings& settings, const std::filesystem::path& folder) {
  constexpr int kJpegQuality = 88;
  const std::vector<uchar> picture =
      encode_jpeg(edge_picture(result, photo, settings), kJpegQuality);
  const std::string json = edge_json(result, measured_with, photo, camera, settings);
  const std::string csv = edge_csv(result);
  const std::string html = edge_html(result, measured_with, photo, camera, settings, picture);
  Replacement replacement(folder);
  replacement.write({"annotated.jpg", view(picture)});
  replacement.write({"report.json", json});
  replacement.write({"stations.csv", csv});
  replacement.write({"report.html", html});
  replacement.keep_all();
}

}  // namespace evenbevel
