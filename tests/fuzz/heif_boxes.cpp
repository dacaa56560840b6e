// The boxes of a HEIC file that this program reads itself.

#include "photo/heif_boxes.hpp"

#include "fuzz.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace evenbevel;
  const HeifTransforms turns = heif_transforms({data, size});
  fuzz::require(turns.any || (turns.quarter_turns == 0 && !turns.mirror_or_crop),
                "a picture turned by no box");
  static_cast<void>(heif_complete({data, size}));
  return 0;
}
