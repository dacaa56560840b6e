// An EXIF block, from its byte order mark on.

#include "photo/exif.hpp"

#include <cmath>

#include "evenbevel/photo.hpp"
#include "fuzz.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace evenbevel;
  const ExifFacts facts = read_exif({data, size});
  fuzz::require(facts.orientation >= 1 && facts.orientation <= 8, "an orientation that is none");
  const CameraIdentity& camera = facts.camera;
  for (const auto& number :
       {camera.focal_length_mm, camera.focal_length_35mm, camera.digital_zoom}) {
    fuzz::require(!number || (std::isfinite(*number) && *number >= 0.0), "a length that is none");
  }
  return 0;
}
