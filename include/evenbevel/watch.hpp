#pragma once

#include <chrono>
#include <filesystem>
#include <functional>
#include <string>

namespace evenbevel {

// A folder into which a phone drops photos, each of them measured once when it is whole.

enum class Taken {
  measured,
  unreadable,  ///< No whole picture (yet): the file may still be growing.
  refused      ///< A whole picture that cannot be measured.
};

struct Outcome {
  Taken taken = Taken::measured;
  std::string why = {};      ///< Of what was not measured.
  std::string do_next = {};  ///< What to do about it.
};

struct WatchSettings {
  std::filesystem::path folder;
  bool existing = false;  ///< Photos that are there at the start are measured too.
  bool once = false;      ///< Ends when there is nothing more to wait for; takes what is there.
  std::chrono::milliseconds quiet{400};      ///< A file unchanged for this long is looked at.
  std::chrono::milliseconds patience{6000};  ///< An unreadable one unchanged for this long is bad.
};

struct WatchActions {
  /// Measures one file. Called again for an unreadable one whenever it has changed.
  std::function<Outcome(const std::filesystem::path&)> measure;
  /// Once for each file that stays unreadable or is refused, until it changes.
  std::function<void(const std::filesystem::path&, const Outcome&)> bad;
  /// A second file with the very same contents, which is not measured again.
  std::function<void(const std::filesystem::path&, const std::filesystem::path& first)> same;
};

/// Until `stop` (a file descriptor) becomes readable; what is being measured then is finished.
/// Files with names of photos only (JPEG, PNG, TIFF, HEIC), no hidden ones.
/// @throws Error  The folder is not there, cannot be watched, or vanishes.
void watch_folder(const WatchSettings& settings, const WatchActions& actions, int stop);

}  // namespace evenbevel
