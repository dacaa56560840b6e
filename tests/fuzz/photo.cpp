// A photo's bytes, of any format.

#include "evenbevel/photo.hpp"

#include <opencv2/core.hpp>

#include "evenbevel/error.hpp"
#include "fuzz.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace evenbevel;
  static const test::ScratchFolder folder(fuzz::fast_folder());
  const std::filesystem::path file = folder / "photo.jpg";
  test::write_file(file, fuzz::text_of(data, size));
  try {
    const Photo photo = read_photo(file);
    fuzz::require(!photo.pixels.empty(), "a photo without a picture");
    fuzz::require(photo.orientation >= 1 && photo.orientation <= 8, "an orientation that is none");
    constexpr std::size_t kRead = 4'000'000;
    if (photo.pixels.total() > kRead) return 0;
    // Every pixel is looked at: one that was never written shows under a sanitizer.
    fuzz::require(cv::norm(photo.pixels, cv::NORM_INF) >= 0.0, "pixels below zero");
    fuzz::require(upright(photo.pixels, photo.orientation).total() == photo.pixels.total(),
                  "a turned picture of another size");
  } catch (const Error&) {
    return 0;
  }
  return 0;
}
