#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "evenbevel/report.hpp"

namespace evenbevel {

/// Text made safe for a page: & < > " ' as entities.
std::string escaped(std::string_view text);

/// RFC 4648, section 4.
std::string base64(const std::vector<uchar>& bytes);

std::string html_style();

/// c(x) with its band and the tolerance, positive (toward the left face) upward.
std::string offset_svg(const EdgeResult& result, const ReportSettings& settings);

std::string station_table_html(const EdgeResult& result, LengthUnit unit);
std::string budget_html(const EdgeResult& result, LengthUnit unit);

}  // namespace evenbevel
