#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evenbevel/record.hpp"
#include "evenbevel/statement.hpp"

namespace evenbevel {

/// What the record keeps of a report beside the report itself.
struct ReportFacts {
  std::string view = {}, verdict = {};
  std::vector<RecordedValue> values = {};
  std::vector<StatedPhoto> photos = {};
};

/// @throws Error  As read_statement; or it names no photo.
ReportFacts report_facts(const std::string& json);

/// By name, then by depth.
std::vector<RecordedValue> recorded_values(const Statement& report);

/// Of a quantity over an area, or of the difference of two; empty: it is an angle or a length.
std::optional<QuantityKind> over_area_kind(const std::string& quantity_name);
/// Whether a quantity is an angle (degrees); else it is a length, unless it is over an area.
bool is_angle_name(const std::string& quantity_name);
/// Whether its sign says toward which face or end.
bool is_signed_name(const std::string& quantity_name);
/// "centreline offset, mean".
std::string label_of(const RecordedValue& value, LengthUnit unit);
/// Where x = 0 lies, of the quantities that are an x.
inline constexpr const char* kWhereXIsZero =
    "x = 0 midway between the plunge lines where both are seen, else as the report says; plus to "
    "the "
    "tip";
/// The same of one entry: "x = 0 at the first station".
std::string origin_words(const RecordEntry& entry);
/// Whether an x of both is counted from the same place of the blade.
bool same_origin(const RecordEntry& a, const RecordEntry& b);
/// Whether a quantity is a place along the blade.
bool is_place_name(const std::string& quantity_name);
/// For sorting: where the reports state it; unknown ones last.
std::size_t place_in_report(const std::string& quantity_name);

}  // namespace evenbevel
