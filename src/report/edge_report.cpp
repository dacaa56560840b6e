#include "evenbevel/report.hpp"
#include "report/write_files.hpp"

namespace evenbevel {

void write_edge_report(const EdgeResult& result, const EdgeSettings& measured_with,
                       const Photo& photo, const CameraModel& camera,
                       const ReportSettings& settings, const std::filesystem::path& folder) {
  const Statement statement = edge_statement(result, measured_with, photo, camera, settings);
  ReportContents report;
  report.picture_jpeg = encode_jpeg(edge_picture(result, photo, settings), kPictureQuality);
  report.json = statement_json(statement);
  report.csv = stations_csv(statement);
  report.html = edge_html(result, measured_with, photo, camera, settings, report.picture_jpeg);
  write_report(folder, report);
}

}  // namespace evenbevel
