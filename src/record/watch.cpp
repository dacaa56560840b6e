#include "evenbevel/watch.hpp"

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <map>
#include <optional>
#include <set>
#include <system_error>

#include <poll.h>
#include <sys/inotify.h>
#include <sys/stat.h>
#include <unistd.h>

#include "evenbevel/error.hpp"
#include "units/sha256.hpp"

namespace evenbevel {
namespace {

namespace fs = std::filesystem;
using Clock = std::chrono::steady_clock;

bool named_like_a_photo(const std::string& name) {
  constexpr std::array kEndings{".jpg", ".jpeg", ".png", ".tif", ".tiff", ".heic", ".heif"};
  if (name.starts_with('.')) return false;
  std::string ending = fs::path(name).extension().string();
  for (char& c : ending) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c;
  return std::ranges::find(kEndings, ending) != kEndings.end();
}

/// Changes whenever a file's contents do.
struct Identity {
  ino_t inode = 0;
  off_t bytes = 0;
  std::int64_t changed_ns = 0;
  bool operator==(const Identity&) const = default;
};

std::optional<Identity> identity_of(const fs::path& path) {
  struct stat status {};
  if (::stat(path.c_str(), &status) != 0 || !S_ISREG(status.st_mode)) return std::nullopt;
  constexpr std::int64_t kNsPerS = 1'000'000'000;
  return Identity{status.st_ino, status.st_size,
                  status.st_mtim.tv_sec * kNsPerS + status.st_mtim.tv_nsec};
}

/// How long ago a file that was there before us was last written.
Clock::duration age_of(const fs::path& path) {
  std::error_code fault;
  const fs::file_time_type written = fs::last_write_time(path, fault);
  if (fault) return {};
  return std::max<Clock::duration>(
      std::chrono::duration_cast<Clock::duration>(fs::file_time_type::clock::now() - written), {});
}

class Inotify {
 public:
  explicit Inotify(const fs::path& folder)
      : descriptor_(::inotify_init1(IN_CLOEXEC | IN_NONBLOCK)) {
    constexpr std::uint32_t kChanges =
        IN_CREATE | IN_MODIFY | IN_CLOSE_WRITE | IN_MOVED_TO | IN_DELETE_SELF | IN_MOVE_SELF;
    const int watched =
        descriptor_ < 0 ? -1
                        : ::inotify_add_watch(descriptor_, folder.c_str(), kChanges | IN_ONLYDIR);
    if (watched >= 0) return;
    const std::string why = std::strerror(errno);
    if (descriptor_ >= 0) ::close(descriptor_);
    throw Error("the folder " + folder.string() + " cannot be watched: " + why,
                "give the folder that the phone's photos come to");
  }
  ~Inotify() { ::close(descriptor_); }
  Inotify(const Inotify&) = delete;
  Inotify& operator=(const Inotify&) = delete;

  int descriptor() const { return descriptor_; }

  struct Events {
    std::set<std::string> names;
    bool overflow = false;  ///< Some were lost: look at the whole folder.
    bool folder_gone = false;
  };

  Events read() {
    Events events;
    alignas(inotify_event) std::array<char, 16384> buffer{};
    for (;;) {
      const ssize_t bytes = ::read(descriptor_, buffer.data(), buffer.size());
      if (bytes <= 0) return events;
      for (ssize_t at = 0; at < bytes;) {
        inotify_event event{};
        std::memcpy(&event, buffer.data() + at, sizeof event);
        const char* name = buffer.data() + at + sizeof event;
        if (event.len > 0) events.names.insert(name);
        events.overflow |= (event.mask & IN_Q_OVERFLOW) != 0U;
        events.folder_gone |= (event.mask & (IN_DELETE_SELF | IN_MOVE_SELF | IN_IGNORED)) != 0U;
        at += static_cast<ssize_t>(sizeof event + event.len);
      }
    }
  }

 private:
  int descriptor_;
};

class Watch {
 public:
  Watch(const WatchSettings& settings, const WatchActions& actions, int stop)
      : settings_(settings), actions_(actions), stop_(stop), inotify_(settings.folder) {}

  void run() {
    look_at_folder(settings_.existing || settings_.once);
    while (!stopped(next_wait_ms())) {
      take_events();
      take_due();
      if (settings_.once && waiting_.empty()) return;
    }
  }

 private:
  /// A file that is waited for.
  struct Waiting {
    Identity identity;
    Clock::time_point changed;               ///< When it was last seen to change.
    std::optional<Outcome> unreadable = {};  ///< What came of looking at it since then.
  };

  /// Everything that is there: to be measured, or known and left alone until it changes.
  void look_at_folder(bool measure) {
    std::error_code fault;
    for (const fs::directory_entry& file : fs::directory_iterator(settings_.folder, fault)) {
      const std::string name = file.path().filename().string();
      const std::optional<Identity> identity = identity_of(file.path());
      if (!named_like_a_photo(name) || !identity) continue;
      if (!measure) {
        finished_[name] = *identity;
      } else if (!is_finished(name, *identity)) {
        waiting_[name] = {*identity, Clock::now() - age_of(file.path())};
      }
    }
  }

  bool is_finished(const std::string& name, const Identity& identity) const {
    const auto known = finished_.find(name);
    return known != finished_.end() && known->second == identity;
  }

  /// When the next file may be looked at.
  Clock::time_point due(const Waiting& file) const {
    return file.changed + (file.unreadable ? settings_.patience : settings_.quiet);
  }

  int next_wait_ms() const {
    if (waiting_.empty()) return settings_.once ? 0 : -1;
    Clock::time_point next = Clock::time_point::max();
    for (const auto& [name, file] : waiting_) next = std::min(next, due(file));
    const auto left = std::chrono::ceil<std::chrono::milliseconds>(next - Clock::now());
    return static_cast<int>(std::clamp<std::int64_t>(left.count(), 0, 60'000));
  }

  bool stopped(int wait_ms) const {
    std::array<pollfd, 2> files{pollfd{inotify_.descriptor(), POLLIN, 0}, pollfd{stop_, POLLIN, 0}};
    ::poll(files.data(), files.size(), wait_ms);
    return files[1].revents != 0;
  }

  void take_events() {
    const Inotify::Events events = inotify_.read();
    if (events.folder_gone) {
      throw Error("the folder " + settings_.folder.string() + " is gone",
                  "start again with the folder that the phone's photos come to");
    }
    for (const std::string& name : events.names) note_change(name);
    if (events.overflow) look_at_folder(true);
  }

  void note_change(const std::string& name) {
    if (!named_like_a_photo(name)) return;
    const std::optional<Identity> identity = identity_of(settings_.folder / name);
    if (!identity) {
      waiting_.erase(name);
    } else if (!is_finished(name, *identity)) {
      waiting_[name] = {*identity, Clock::now()};
    }
  }

  /// One after the other, so that news is heard in between.
  void take_due() {
    std::optional<std::string> first;
    for (const auto& [name, file] : waiting_) {
      if (due(file) > Clock::now()) continue;
      if (!first || due(file) < due(waiting_.at(*first))) first = name;
    }
    if (first) take(*first);
  }

  void take(const std::string& name) {
    const fs::path path = settings_.folder / name;
    Waiting& file = waiting_.at(name);
    const std::optional<Identity> now = identity_of(path);
    if (!now) {
      waiting_.erase(name);
      return;
    }
    if (*now != file.identity) {  // still growing, without a word from inotify
      file = {*now, Clock::now()};
      return;
    }
    if (file.unreadable) {
      finish(name, *now);
      actions_.bad(path, *file.unreadable);
      waiting_.erase(name);
      return;
    }
    look_at(name, path, *now);
  }

  void look_at(const std::string& name, const fs::path& path, const Identity& identity) {
    const std::string hash = sha256_of_file(path).value_or("");
    if (const auto before = measured_.find(hash); before != measured_.end()) {
      finish(name, identity);
      waiting_.erase(name);
      if (before->second != name) actions_.same(path, settings_.folder / before->second);
      return;
    }
    const Outcome outcome = actions_.measure(path);
    if (identity_of(path) !=
        identity) {  // written to meanwhile: what was seen is not what is there
      waiting_[name] = {identity_of(path).value_or(identity), Clock::now()};
      if (outcome.taken == Taken::measured) measured_[hash] = name;
      return;
    }
    if (outcome.taken == Taken::unreadable) {
      waiting_.at(name).unreadable = outcome;
      return;
    }
    finish(name, identity);
    waiting_.erase(name);
    if (outcome.taken == Taken::measured) {
      measured_[hash] = name;
    } else {
      actions_.bad(path, outcome);
    }
  }

  void finish(const std::string& name, const Identity& identity) { finished_[name] = identity; }

  const WatchSettings& settings_;
  const WatchActions& actions_;
  int stop_;
  Inotify inotify_;  // before the first look, so that nothing falls between the two
  std::map<std::string, Waiting> waiting_;
  std::map<std::string, Identity> finished_;     ///< By name, as they were then.
  std::map<std::string, std::string> measured_;  ///< Names by SHA-256.
};

}  // namespace

void watch_folder(const WatchSettings& settings, const WatchActions& actions, int stop) {
  Watch(settings, actions, stop).run();
}

}  // namespace evenbevel
