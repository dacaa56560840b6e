#include "evenbevel/side_report.hpp"

#include "report/write_files.hpp"

namespace evenbevel {

void write_side_report(const SideResult& result, const SideSettings& measured_with,
                       std::span<const FacePhoto> photos, const ReportSettings& settings,
                       const std::filesystem::path& folder) {
  ReportContents report;
  report.picture_jpeg =
      encode_jpeg(side_picture(result, measured_with, photos, settings), kPictureQuality);
  report.json = statement_json(side_statement(result, measured_with, photos, settings));
  report.csv = side_csv(result);
  report.html = side_html(result, measured_with, photos, settings, report.picture_jpeg);
  report.places_csv = side_places_csv(result);
  write_report(folder, report);
}

}  // namespace evenbevel
