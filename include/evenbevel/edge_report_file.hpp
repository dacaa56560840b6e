#pragma once

#include <filesystem>
#include <optional>

#include "evenbevel/uncertainty.hpp"

namespace evenbevel {

/// What an edge view's report.json says of the blade to a side view of it.
struct EdgeReportValues {
  double thickness_mm = 0.0;  ///< Of the stock, as it was given to the edge view.
  double thickness_u_mm = 0.0;
  Measured land_width_mm;
  std::optional<Measured> centreline_offset_mm;  ///< Positive toward the left face.
};

/// @throws Error  Unreadable, no report of an edge view, or one without a land (scribed lines).
EdgeReportValues read_edge_report(const std::filesystem::path& path);

}  // namespace evenbevel
