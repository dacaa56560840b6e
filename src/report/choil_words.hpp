#pragma once

#include <string>

#include "evenbevel/choil_report.hpp"
#include "report/quantities.hpp"

namespace evenbevel {

/// The asymmetry, in capitals.
std::string choil_headline(const ChoilResult& result, const ReportSettings& settings);

/// One sentence with the numbers that the verdict rests on.
std::string choil_verdict_sentence(const ChoilResult& result, const ReportSettings& settings);

/// A few words beside the number: where, which shape.
std::string choil_note(const Quantity& quantity, const ChoilResult& result, LengthUnit unit);

/// "0.25 mm behind the edge".
std::string depth_words(double depth_mm, LengthUnit unit);

/// Over which depths angles and shapes were taken, and what the axis is.
std::string range_sentence(const ChoilResult& result, LengthUnit unit);

/// What to do with the blade, in both units; most important first.
std::vector<InUnits> blade_advice(const ChoilResult& result, const ReportSettings& settings);

}  // namespace evenbevel
