#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <nlohmann/json.hpp>

#include "evenbevel/facts.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel {

using Json = nlohmann::ordered_json;

inline constexpr const char* kReportSchema = "evenbevel.report/2";
inline constexpr const char* kOldReportSchema = "evenbevel.report/1";  ///< Without codes.

/// The value of a remark that is all of its sentence, and stands there alone.
inline constexpr std::string_view kWholeSentence = "text";

inline double json_mm(double value) { return rounded(value, 5); }
inline double json_px(double value) { return rounded(value, 3); }

/// What is not there has no key, rather than null or zero.
void put(Json& json, const char* key, const std::optional<double>& value, int decimals = 5);
void put(Json& json, const char* key, const std::string& value);

Json json_of(const Facts& facts);

/// A text when alike in mm and in inches, else both.
Json json_of(const InUnits& words);
void put(Json& json, const char* key, const InUnits& words);

/// What is not there, or of another kind, is empty.
const Json& member(const Json& object, std::string_view key);
std::string text_at(const Json& object, std::string_view key);
InUnits words_at(const Json& object, std::string_view key);
std::optional<double> number_at(const Json& object, std::string_view key);
bool flag_at(const Json& object, std::string_view key);
/// The members of an array that are objects.
std::vector<Json> objects_at(const Json& object, std::string_view key);

/// Names hold bytes that are not UTF-8 at times: replaced, not thrown on.
std::string json_text(const Json& json);

}  // namespace evenbevel
