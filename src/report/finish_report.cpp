#include "evenbevel/finish_report.hpp"

#include "report/write_files.hpp"

namespace evenbevel {
namespace {

constexpr const char* kFinishPictureWords =
    "The blade's faces, tip to the right, with the scratches found drawn on them. The numbers are "
    "in "
    "the tables of this page.";

}  // namespace

void write_finish_report(const FinishResult& result, const FinishSettings& measured_with,
                         std::span<const FinishPhoto> photos, const ReportSettings& settings,
                         const std::filesystem::path& folder) {
  const Statement statement = finish_statement(result, measured_with, photos, settings);
  write_report(folder,
               report_contents(
                   statement, settings,
                   [&](const ReportSettings& with) { return finish_picture(result, photos, with); },
                   kFinishPictureWords));
}

}  // namespace evenbevel
