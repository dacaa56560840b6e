#pragma once

#include <filesystem>
#include <vector>

#include "evenbevel/photo.hpp"

namespace evenbevel {

/// The whole file. @throws Error  Missing, a folder, not a file, empty, huge, unreadable.
std::vector<uchar> file_bytes(const std::filesystem::path& path, const Photo& photo);

}  // namespace evenbevel
