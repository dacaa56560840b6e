#pragma once

#include <filesystem>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include <opencv2/core/mat.hpp>

namespace evenbevel {

struct ReportFile {
  std::string name;
  std::string_view bytes;
};

/// Writes all files into the folder (made when missing): all to temporary names first, then
/// renamed, so a full disk or a kill leaves earlier files untouched. @throws Error  Not writable.
void write_files(const std::filesystem::path& folder, std::span<const ReportFile> files);

/// What every view's report consists of.
struct ReportContents {
  std::vector<uchar> picture_jpeg;
  std::string json, csv, html;
  std::string places_csv = {};  ///< places.csv; empty: none is written.
};

/// annotated.jpg, report.json, stations.csv, report.html; places.csv if there is any. @throws Error
/// Not writable.
void write_report(const std::filesystem::path& folder, const ReportContents& report);

inline constexpr int kPictureQuality = 88;

}  // namespace evenbevel
