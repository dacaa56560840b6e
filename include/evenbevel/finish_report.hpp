#pragma once

#include <filesystem>
#include <span>

#include "evenbevel/finish_view.hpp"
#include "evenbevel/report.hpp"

namespace evenbevel {

// Reports of the finish view; `photos` as given to finish_view.

/// On scratches a square centimetre, by ISO 14253-1's decision rule: outside when one face's whole
/// interval is; within when every face's is, most of the face could be judged, and no direction was
/// left without a lamp that shows it.
Verdict finish_verdict(const FinishResult& result, const ReportSettings& settings);

Statement finish_statement(const FinishResult& result, const FinishSettings& measured_with,
                           std::span<const FinishPhoto> photos, const ReportSettings& settings);

/// Each face as the photo shows it in which most scratches shine, tip at the right.
AnnotatedPicture finish_picture(const FinishResult& result, std::span<const FinishPhoto> photos,
                                const ReportSettings& settings);

/// As write_edge_report. @throws Error  Not writable.
void write_finish_report(const FinishResult& result, const FinishSettings& measured_with,
                         std::span<const FinishPhoto> photos, const ReportSettings& settings,
                         const std::filesystem::path& folder);

}  // namespace evenbevel
