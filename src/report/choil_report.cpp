#include "evenbevel/choil_report.hpp"

#include "report/write_files.hpp"

namespace evenbevel {

void write_choil_report(const ChoilResult& result, const ChoilSettings& measured_with,
                        const Photo& photo, const CameraModel& camera,
                        const ReportSettings& settings, const std::filesystem::path& folder) {
  const Statement statement = choil_statement(result, measured_with, photo, camera, settings);
  ReportContents report;
  report.picture_jpeg = encode_jpeg(choil_picture(result, photo, settings), kPictureQuality);
  report.json = statement_json(statement);
  report.csv = stations_csv(statement);
  report.html = choil_html(result, measured_with, photo, camera, settings, report.picture_jpeg);
  write_report(folder, report);
}

}  // namespace evenbevel
