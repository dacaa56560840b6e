#include "evenbevel/side_report.hpp"

#include "report/write_files.hpp"

namespace evenbevel {
namespace {

constexpr const char* kSidePictureWords =
    "The blade's faces one above the other, the left one mirrored, tip to the right, with "
    "edge, spine, bevel line and plunge line, then the lines of both over each other. The "
    "numbers are in the tables of this page.";

}  // namespace

void write_side_report(const SideResult& result, const SideSettings& measured_with,
                       std::span<const FacePhoto> photos, const ReportSettings& settings,
                       const std::filesystem::path& folder) {
  const Statement statement = side_statement(result, measured_with, photos, settings);
  write_report(folder, report_contents(
                           statement, settings,
                           [&](const ReportSettings& with) {
                             return side_picture(result, measured_with, photos, with);
                           },
                           kSidePictureWords));
}

}  // namespace evenbevel
