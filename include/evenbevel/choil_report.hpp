#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include <opencv2/core/mat.hpp>

#include "evenbevel/choil_view.hpp"
#include "evenbevel/report.hpp"

namespace evenbevel {

/// On the asymmetry, by ISO 14253-1's decision rule.
Verdict choil_verdict(const ChoilResult& result, const ReportSettings& settings);

/// What report.json holds, whatever the display units.
Statement choil_statement(const ChoilResult& result, const ChoilSettings& measured_with,
                          const Photo& photo, const CameraModel& camera,
                          const ReportSettings& settings);

/// The section enlarged, edge down, its mirror image dashed over it.
AnnotatedPicture choil_picture(const ChoilResult& result, const Photo& photo,
                               const ReportSettings& settings);

/// As write_edge_report. @throws Error  Not writable.
void write_choil_report(const ChoilResult& result, const ChoilSettings& measured_with,
                        const Photo& photo, const CameraModel& camera,
                        const ReportSettings& settings, const std::filesystem::path& folder);

}  // namespace evenbevel
