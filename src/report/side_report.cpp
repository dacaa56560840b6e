#include "evenbevel/side_report.hpp"

#include "report/write_files.hpp"

namespace evenbevel {

void write_side_report(const SideResult& result, const SideSettings& measured_with,
                       std::span<const FacePhoto> photos, const ReportSettings& settings,
                       const std::filesystem::path& folder) {
  const Statement statement = side_statement(result, measured_with, photos, settings);
  ReportContents report;
  report.picture_jpeg =
      encode_jpeg(side_picture(result, measured_with, photos, settings), kPictureQuality);
  report.json = statement_json(statement);
  report.csv = stations_csv(statement);
  report.html = side_html(result, measured_with, photos, settings, report.picture_jpeg);
  report.places_csv = places_csv(statement);
  write_report(folder, report);
}

}  // namespace evenbevel
