#pragma once

#include <filesystem>

#include "evenbevel/practice_view.hpp"
#include "evenbevel/report.hpp"

namespace evenbevel {

/// Within: the chain holds. Outside: a number is off by more than its interval, the page is not
/// printed at 100 %, or the paper is bent.
Verdict practice_verdict(const PracticeResult& result);

/// What report.json holds, whatever the display units. Its one finding: the chain holds, or what is
/// wrong with it.
Statement practice_statement(const PracticeResult& result, const PracticeSettings& measured_with,
                             const Photo& photo, const CameraModel& camera,
                             const ReportSettings& settings);

/// The strip along its length, and magnified where its numbers are printed.
AnnotatedPicture practice_picture(const PracticeResult& result, const Photo& photo,
                                  const ReportSettings& settings);

/// As write_edge_report. @throws Error  Not writable.
void write_practice_report(const PracticeResult& result, const PracticeSettings& measured_with,
                           const Photo& photo, const CameraModel& camera,
                           const ReportSettings& settings, const std::filesystem::path& folder);

}  // namespace evenbevel
