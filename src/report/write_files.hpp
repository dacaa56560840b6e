#pragma once

#include <filesystem>
#include <functional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include <opencv2/core/mat.hpp>

#include "evenbevel/report.hpp"
#include "evenbevel/statement.hpp"

namespace evenbevel {

inline constexpr int kPictureQuality = 88;

struct ReportFile {
  std::string name;
  std::string_view bytes;
};

/// Writes all files into the folder (made when missing): all to temporary names first, then
/// renamed, so a full disk or a kill leaves earlier files untouched.
/// @throws Error  Not writable; or a file of such a name is there that evenbevel did not write.
void write_files(const std::filesystem::path& folder, std::span<const ReportFile> files);

/// What every view's report consists of.
struct ReportContents {
  std::vector<uchar> picture_jpeg;
  std::string json, csv, html;
  std::string places_csv = {};           ///< places.csv; empty: none is written.
  std::vector<StatedPhoto> photos = {};  ///< That were measured.
};

/// The view's picture as these settings have it; may be called by two threads at once.
using DrawPicture = std::function<AnnotatedPicture(const ReportSettings&)>;

/// A view's report: its picture with the words for those who do not see it, and all that is made of
/// the statement alone. The page has the picture in mm and in inches.
ReportContents report_contents(const Statement& statement, const ReportSettings& settings,
                               const DrawPicture& draw, const char* picture_words);

/// annotated.jpg, report.json, stations.csv, report.html; places.csv if there is any.
/// @throws Error  As write_files; or the folder holds the report of another photo.
void write_report(const std::filesystem::path& folder, const ReportContents& report);

}  // namespace evenbevel
