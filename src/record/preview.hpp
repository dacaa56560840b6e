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
  std::string words = {};                ///< How it was straightened; empty: the whole photo.
  double from_mm = 0.0, to_mm = 1.0;     ///< Place on the blade at its left and right ends and
  double top_mm = 0.0, bottom_mm = 1.0;  ///< at top and bottom, alike for all stages; else 0 and 1.
  double ratio = 1.0;                    ///< Width by height.
};

/// From the record's folder, or made from the photo and kept there; empty when the photo cannot be
/// read. Straightened by the report's stations; without them the whole photo is shown.
std::optional<Preview> preview(Record& record, const RecordEntry& entry, std::size_t photo);

}  // namespace evenbevel
