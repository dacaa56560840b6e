#include "evenbevel/choil_report.hpp"

#include "report/write_files.hpp"

namespace evenbevel {

void write_choil_report(const ChoilResult& result, const ChoilSettings& measured_with,
                        const Photo& photo, const CameraModel& camera,
                        const ReportSettings& settings, const std::filesystem::path& folder) {
  ReportContents report;
  report.picture_jpeg = encode_jpeg(choil_picture(result, photo, settings), kPictureQuality);
  report.json = statement_json(choil_statement(result, measured_with, photo, camera, settings));
  report.csv = choil_csv(result);
  report.html = choil_html(result, measured_with, photo, camera, settings, report.picture_jpeg);
  write_report(folder, report);
}

}  // namespace evenbevel
