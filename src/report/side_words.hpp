#pragma once

#include <string>

#include "evenbevel/side_report.hpp"
#include "report/quantities.hpp"

namespace evenbevel {

/// What the verdict rests on, in capitals.
std::string side_headline(const SideResult& result, const ReportSettings& settings);

/// One sentence with the numbers that the verdict rests on.
std::string side_verdict_sentence(const SideResult& result, const ReportSettings& settings);

/// "at x = 65 mm, 52 mm from the tip", of the worst bevel height difference.
std::string worst_place_words(const SideResult& result, LengthUnit unit);

/// A few words beside the number: which way, where.
std::string side_note(const Quantity& quantity, const SideResult& result, LengthUnit unit);

/// "bevel height, left, at 20.0 mm", and what the place is counted from: "from the plunge line".
std::string place_label(const char* what, const BevelAtPlace& at, LengthUnit unit);
std::string place_note(const BevelAtPlace& at, LengthUnit unit);

/// "side view, both faces".
std::string side_view_words(const SideResult& result);

/// Where x = 0 lies and which way it runs.
std::string side_origin_sentence(const SideResult& result);

/// The least of the faces' shares of the bevel line that were seen.
double bevel_seen_share(const SideResult& result);

/// What to do with the blade, in both units; most important first.
std::vector<InUnits> blade_advice(const SideResult& result, const ReportSettings& settings);

}  // namespace evenbevel
