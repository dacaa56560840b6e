#pragma once

#include <vector>

#include "advice/numbers.hpp"
#include "evenbevel/record.hpp"

namespace evenbevel {

/// As the reports print it: U95 to two significant digits at most, lengths in `unit`.
Printed printed_value(const RecordedValue& value, LengthUnit unit);

/// In the order in which the reports state them, what they do not know last.
std::vector<RecordedValue> in_report_order(std::vector<RecordedValue> values);

}  // namespace evenbevel
