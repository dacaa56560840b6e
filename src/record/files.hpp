#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

namespace evenbevel {

/// The whole file. @throws Error  Not there, not readable.
std::string read_whole(const std::filesystem::path& path);

/// Made with its parents, each of them on the disk when this returns. @throws Error
void make_folder(const std::filesystem::path& folder);

/// To a temporary name beside it, flushed to the disk, renamed, the folder flushed: whoever dies at
/// any instant leaves the earlier file or the new one, whole. @throws Error
void write_durably(const std::filesystem::path& path, std::string_view bytes);

/// As write_durably but without waiting for the disk: for files that can be made again.
void write_replacing(const std::filesystem::path& path, std::string_view bytes);

/// Waits until all that was written to the folder's file system is on the disk: for many files at
/// once, which write_durably would wait for one by one. @throws Error
void flush_all(const std::filesystem::path& folder);

/// Files of write_durably whose process died before its rename, an hour ago or more.
void remove_leftovers_in(const std::filesystem::path& folder);

/// Whether the file is there with these contents.
bool holds(const std::filesystem::path& path, const std::string& sha256);

}  // namespace evenbevel
