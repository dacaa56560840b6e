#include "evenbevel/choil_report.hpp"

#include "report/write_files.hpp"

namespace evenbevel {
namespace {

constexpr const char* kChoilPictureWords =
    "The blade's cross-section enlarged, edge down, with its outline, its mirror image dashed "
    "over it and the thickness at several depths. The numbers are in the tables of this page.";

}  // namespace

void write_choil_report(const ChoilResult& result, const ChoilSettings& measured_with,
                        const Photo& photo, const CameraModel& camera,
                        const ReportSettings& settings, const std::filesystem::path& folder) {
  const Statement statement = choil_statement(result, measured_with, photo, camera, settings);
  write_report(folder,
               report_contents(
                   statement, settings,
                   [&](const ReportSettings& with) { return choil_picture(result, photo, with); },
                   kChoilPictureWords));
}

}  // namespace evenbevel
