#pragma once

#include <filesystem>
#include <optional>

namespace evenbevel {

// This program's own folders in the user's home. Source: XDG Base Directory Specification 0.8: a
// relative path in the environment is ignored. Empty: there is no home folder. They need not exist.

/// $XDG_DATA_HOME/evenbevel, or below ~/.local/share: the record, the camera files.
std::optional<std::filesystem::path> data_folder();

/// $XDG_CONFIG_HOME/evenbevel, or below ~/.config: shop.toml.
std::optional<std::filesystem::path> config_folder();

}  // namespace evenbevel
