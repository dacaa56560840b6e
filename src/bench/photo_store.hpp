#pragma once

#include <atomic>
#include <filesystem>
#include <optional>

namespace evenbevel::bench {

/// The folder of photos, each whole and under its SHA-256; what is still coming lies there under
/// another name.
class PhotoStore {
 public:
  /// Makes the folder when missing, and removes what a bench that was killed left half.
  /// @throws Error  It cannot be written.
  explicit PhotoStore(std::filesystem::path folder);

  /// A name of its own for each call; any thread.
  std::filesystem::path incoming_file();

  /// Puts a whole upload to its place; once this returns it is there after a power cut too.
  /// @throws Error  It cannot be stored; the upload is untouched.
  std::filesystem::path take(const std::filesystem::path& incoming);

 private:
  void remove_left_over() const;
  std::filesystem::path folder_;
  std::atomic<int> uploads_ = 0;
};

}  // namespace evenbevel::bench
