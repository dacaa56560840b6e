#pragma once

#include <span>

#include <opencv2/core/hal/interface.h>

namespace evenbevel {

/// How a HEIF file's primary picture is to be turned for display.
struct HeifTransforms {
  int quarter_turns = 0;        ///< Counter-clockwise; the sum of its irot boxes.
  bool mirror_or_crop = false;  ///< An imir or clap box is there.
  bool any = false;             ///< Any irot, imir or clap box.
};

/// Reads the boxes (ISO/IEC 14496-12, 23008-12) that libheif 1.15 does not tell of.
HeifTransforms heif_transforms(std::span<const uchar> file);

/// False when the last box reaches beyond the end of the file.
bool heif_complete(std::span<const uchar> file);

}  // namespace evenbevel
