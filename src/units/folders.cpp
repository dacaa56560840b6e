#include "evenbevel/folders.hpp"

#include <cstdlib>

#include <pwd.h>
#include <unistd.h>

namespace evenbevel {
namespace {

namespace fs = std::filesystem;

std::optional<fs::path> home_folder() {
  if (const char* home = std::getenv("HOME"); home != nullptr && *home == '/') return home;
  const passwd* user = ::getpwuid(::getuid());
  if (user != nullptr && user->pw_dir != nullptr && *user->pw_dir == '/') return user->pw_dir;
  return std::nullopt;
}

std::optional<fs::path> own_folder(const char* variable, const char* below_home) {
  const char* given = std::getenv(variable);
  if (given != nullptr && *given == '/') return fs::path(given) / "evenbevel";
  const std::optional<fs::path> home = home_folder();
  if (!home) return std::nullopt;
  return *home / below_home / "evenbevel";
}

}  // namespace

std::optional<fs::path> data_folder() { return own_folder("XDG_DATA_HOME", ".local/share"); }

std::optional<fs::path> config_folder() { return own_folder("XDG_CONFIG_HOME", ".config"); }

}  // namespace evenbevel
