#include "evenbevel/plan_report.hpp"

#include <array>

#include "report/write_files.hpp"

namespace evenbevel {

void write_plan(const Plan& plan, LengthUnit unit, Sheet sheet, const std::string& command_line,
                const std::filesystem::path& folder) {
  const std::string json = plan_json(plan, command_line);
  const std::string card = plan_card(plan, unit, sheet);
  const std::array files = {ReportFile{"plan.json", json}, ReportFile{"plan.pdf", card}};
  write_files(folder, files);
}

}  // namespace evenbevel
