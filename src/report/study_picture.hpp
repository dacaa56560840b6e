#pragma once

#include <string>

#include "evenbevel/study_report.hpp"

namespace evenbevel {

/// Every reading, part by part, a mark for each person; the cells' means as short lines.
/// @pre report.result
std::string readings_drawing(const StudyReport& report);

/// The spreads as bars with their 95 % intervals. @pre report.result
std::string spreads_drawing(const StudyReport& report);

}  // namespace evenbevel
