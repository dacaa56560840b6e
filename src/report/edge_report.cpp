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
  write_report(folder,
               report_contents(
                   statement, settings,
                   [&](const ReportSettings& with) { return edge_picture(result, photo, with); },
                   kEdgePictureWords));
}

}  // namespace evenbevel
