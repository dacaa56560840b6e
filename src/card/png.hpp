#pragma once

#include <cstdint>
#include <string>

namespace evenbevel {

/// A drawn page as Cairo holds it: 0x00RRGGBB a pixel.
struct DrawnPixels {
  const unsigned char* data = nullptr;
  int width = 0, height = 0, stride = 0;  ///< Stride in bytes.
};

/// PNG with a palette, as few bits a pixel as the colours need (at most 16 of them), and the size
/// of a pixel (pHYs chunk), which tells a printing program the size of the page.
std::string encode_png(const DrawnPixels& pixels, double pixels_per_mm);

}  // namespace evenbevel
