#pragma once

#include <optional>
#include <string>
#include <vector>

#include <opencv2/core/mat.hpp>

#include "evenbevel/record.hpp"

namespace evenbevel {

/// A small picture of an entry's photo, JPEG.
struct Preview {
  std::string jpeg = {};
  bool along_blade = false;           ///< Straightened: x to the tip runs to the right.
  double from_mm = 0.0, to_mm = 1.0;  ///< x at its left and right ends; else 0 and 1.
  double ratio = 1.0;                 ///< Width by height.
};

/// How much larger the straightened picture is across the blade than along it.
inline constexpr double kAcross = 3.0;

/// From the record's folder, or made from the photo and kept there; empty when the photo cannot be
/// read. The edge view is straightened along its stations; of the others the whole photo is shown.
std::optional<Preview> preview(Record& record, const RecordEntry& entry, std::size_t photo);

}  // namespace evenbevel
