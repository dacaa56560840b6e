#pragma once

#include <filesystem>
#include <span>
#include <string>
#include <vector>

#include <opencv2/core/mat.hpp>

#include "evenbevel/report.hpp"
#include "evenbevel/side_view.hpp"

namespace evenbevel {

// Reports of the side view; `photos` as given to side_view.

/// On the worst bevel height difference and on the plunge mismatch, by ISO 14253-1's decision rule:
/// outside when one of them is; within when both are, and at least 80 % of each bevel line was
/// seen. One face alone has neither: unresolved.
Verdict side_verdict(const SideResult& result, const ReportSettings& settings);

/// What report.json holds, whatever the display units.
Statement side_statement(const SideResult& result, const SideSettings& measured_with,
                         std::span<const FacePhoto> photos, const ReportSettings& settings);

/// Both faces, the left one mirrored so that both have the tip at the right, then their lines over
/// each other.
AnnotatedPicture side_picture(const SideResult& result, const SideSettings& measured_with,
                              std::span<const FacePhoto> photos, const ReportSettings& settings);

/// As write_edge_report. @throws Error  Not writable.
void write_side_report(const SideResult& result, const SideSettings& measured_with,
                       std::span<const FacePhoto> photos, const ReportSettings& settings,
                       const std::filesystem::path& folder);

}  // namespace evenbevel
