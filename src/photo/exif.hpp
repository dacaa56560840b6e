#pragma once

#include <span>

#include "evenbevel/photo.hpp"

namespace evenbevel {

/// What an EXIF block says of a photo. Damaged or missing entries are left out.
struct ExifFacts {
  int orientation = 1;
  CameraIdentity camera;
  std::vector<Remark> warnings = {};
};

/// @param tiff  The block from its byte order mark ("II" or "MM") on.
ExifFacts read_exif(std::span<const uchar> tiff);

/// Camera and warnings, as every format has them; not how to turn the picture.
void take_camera(const ExifFacts& facts, Photo& photo);

}  // namespace evenbevel
