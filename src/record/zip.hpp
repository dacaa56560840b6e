#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

namespace evenbevel {

/// A new zip archive (APPNOTE 6.3, zip64 where it must). Whole at the end of finish() only.
class ZipWriter {
 public:
  explicit ZipWriter(const std::filesystem::path& file);
  ~ZipWriter();
  ZipWriter(const ZipWriter&) = delete;
  ZipWriter& operator=(const ZipWriter&) = delete;

  /// @param pack  False for what is packed already, such as JPEG. @throws Error
  void add(const std::string& name, std::string_view bytes, bool pack);
  void finish();  ///< @throws Error

 private:
  std::filesystem::path file_;
  void* zip_ = nullptr;
};

class ZipReader {
 public:
  /// @throws Error  Not a zip archive.
  explicit ZipReader(const std::filesystem::path& file);
  ~ZipReader();
  ZipReader(const ZipReader&) = delete;
  ZipReader& operator=(const ZipReader&) = delete;

  std::vector<std::string> names() const;  ///< In the archive's order.
  /// Empty: no such file in it, damaged, or larger than `most_bytes`.
  std::optional<std::string> read(const std::string& name, std::size_t most_bytes) const;

 private:
  struct Place {
    std::uint64_t in_directory, number;
  };
  void* zip_ = nullptr;
  std::vector<std::string> names_;
  std::unordered_map<std::string, Place> places_;  ///< Looked up in minizip each search is linear.
};

}  // namespace evenbevel
