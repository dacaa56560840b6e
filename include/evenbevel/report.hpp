#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include <opencv2/core/mat.hpp>

#include "evenbevel/camera.hpp"
#include "evenbevel/edge_view.hpp"
#include "evenbevel/photo.hpp"
#include "evenbevel/statement.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel {

enum class Verdict { none, within, outside, unresolved };
std::string_view name(Verdict verdict);

/// What the report shows beside the measurement.
struct ReportSettings {
  LengthUnit unit = LengthUnit::mm;
  std::optional<double> tolerance_mm = {};       ///< Largest allowed size; each view says of what.
  std::optional<double> tolerance_per_cm2 = {};  ///< Most scratches allowed, finish view.
  std::optional<double> wanted_land_mm = {};     ///< Land width the maker is grinding toward.
  std::string command_line = {};                 ///< Exactly as typed.
  /// Where each setting came from, by its name: "option", "knife", "shop.toml", "exif" (the camera
  /// file that the photo's EXIF found), "edge report", "default".
  Facts from = {};
};

/// On the centreline offset, by ISO 14253-1's decision rule: within or outside only when the whole
/// 95 % interval of the worst offset is; within, moreover, only when at least 80 % of the stations
/// were seen. The sign of the offset does not matter.
Verdict edge_verdict(const EdgeResult& result, const ReportSettings& settings);

/// What report.json holds, whatever the display units.
Statement edge_statement(const EdgeResult& result, const EdgeSettings& measured_with,
                         const Photo& photo, const CameraModel& camera,
                         const ReportSettings& settings);

/// Short summary for the terminal; no colours, at most 100 columns.
std::string statement_text(const Statement& statement, LengthUnit unit);

/// One row a station; every row has every column, empty where nothing was seen. mm, degrees, px.
std::string stations_csv(const Statement& statement);

/// One row a place at which bevel heights were asked for; empty when none were.
std::string places_csv(const Statement& statement);

/// The picture that the maker looks at. It stands alone; a page says its head in its own words.
struct AnnotatedPicture {
  cv::Mat bgr = {};
  int head_height = 0;  ///< Rows with verdict, numbers and advice.

  cv::Mat without_head() const { return bgr.rowRange(head_height, bgr.rows); }
};

AnnotatedPicture edge_picture(const EdgeResult& result, const Photo& photo,
                              const ReportSettings& settings);

/// What of a report's page its view alone can make.
struct PagePicture {
  std::string words = {};  ///< What it shows, for those who do not see it.
  std::vector<uchar> jpeg = {};
  std::vector<uchar> other_jpeg = {};  ///< In inches where `jpeg` is in mm, and so on; empty: none.
};

/// One self-contained page with the picture in it; of any view, measured now or read back from
/// report.json.
std::string statement_page(const Statement& statement, const PagePicture& picture);

/// Writes annotated.jpg, report.json, stations.csv and report.html into the folder (made when
/// missing): all four to temporary names first, then renamed, so a full disk leaves earlier
/// reports untouched. @throws Error  Not writable.
void write_edge_report(const EdgeResult& result, const EdgeSettings& measured_with,
                       const Photo& photo, const CameraModel& camera,
                       const ReportSettings& settings, const std::filesystem::path& folder);

}  // namespace evenbevel
