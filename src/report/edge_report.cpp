#include "evenbevel/report.hpp"
#include "report/write_files.hpp"

namespace evenbevel {
namespace {

constexpr const char* kEdgePictureWords =
    "The blade's edge, straightened and enlarged, tip to the right, with its traces, middle "
    "line and offset. The numbers are in the tables of this page.";

}  // namespace

void write_edge_report(const EdgeResult& result, const EdgeSettings& measured_with,
                       const Photo& photo, const CameraModel& camera,
                       const ReportSettings& settings, const std::filesystem::path& folder) {
  const Statement statement = edge_statement(result, measured_with, photo, camera, settings);
  const AnnotatedPicture picture = edge_picture(result, photo, settings);
  ReportContents report;
  report.picture_jpeg = encode_jpeg(picture.bgr, kPictureQuality);
  report.json = statement_json(statement);
  report.csv = stations_csv(statement);
  report.html = statement_page(
      statement, {kEdgePictureWords, encode_jpeg(picture.without_head(), kPictureQuality)});
  write_report(folder, report);
}

}  // namespace evenbevel
