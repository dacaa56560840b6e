#pragma once

#include <span>

#include "evenbevel/photo.hpp"

namespace evenbevel {

/// What an EXIF block says of a photo. Damaged or missing entries are left out.
struct ExifFacts {
  int orientation = 1;
  CameraIdentity camera;
};

/// @param tiff  The block from its byte order mark ("II" or "MM") on.
ExifFacts read_exif(std::span<const uchar> tiff);

}  // namespace evenbevel
