#pragma once

#include <filesystem>
#include <vector>

namespace evenbevel {

/// The folder of the file that holds evenbevel's code: the shared library, or the program that the
/// static one is part of. Absolute, links resolved.
std::filesystem::path own_folder();

/// Where evenbevel_media.so may be, the first choice first: beside evenbevel's code, where it is
/// installed relative to that code, where it is installed unless the package was moved.
std::vector<std::filesystem::path> media_folders(const std::filesystem::path& own);

/// The first evenbevel_media.so in media_folders().
/// @throws Error  There is none.
std::filesystem::path media_library();

}  // namespace evenbevel
