#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <stdexcept>
#include <string>

#include "scratch_folder.hpp"

namespace evenbevel::fuzz {

// A fuzz target is a file of this folder with one LLVMFuzzerTestOneInput. What may be refused is
// refused by an Error, which the target takes; whatever else is thrown is a fault that it found.

/// @throws std::logic_error  It does not hold: a fault of the program.
inline void require(bool holds, const std::string& what) {
  if (!holds) throw std::logic_error("fault: " + what);
}

inline std::string text_of(const std::uint8_t* data, std::size_t size) {
  return {reinterpret_cast<const char*>(data), size};
}

/// Cuts off and gives back what stands before the first line end; all of it where there is none.
std::string take_line(std::string& text);

/// In memory where that is to be had: nothing of it need outlive a run.
std::filesystem::path fast_folder();

/// A folder in which the program may write, "inside", and what lies around it.
class Fenced {
 public:
  Fenced();
  std::filesystem::path operator/(const std::string& name) const {
    return folder_ / "around" / "inside" / name;
  }
  /// @throws std::logic_error  Something has been written beside the folder.
  void require_nothing_outside() const;

 private:
  test::ScratchFolder folder_{fast_folder()};
};

/// A page that this program made: only the elements that its pages have, no more scripts than
/// `scripts`, no attribute that is one, nothing fetched from anywhere.
/// @throws std::logic_error  Something of what the page shows has become part of the page.
void require_plain_page(const std::string& html, int scripts);

}  // namespace evenbevel::fuzz
