#pragma once

#include <string>
#include <vector>

#include "evenbevel/report.hpp"
#include "report/quantities.hpp"

namespace evenbevel {

/// The worst offset, in capitals.
std::string edge_headline(const EdgeResult& result, const ReportSettings& settings);

/// One sentence with the numbers that the verdict rests on.
std::string verdict_sentence(const EdgeResult& result, const ReportSettings& settings);

/// A few words beside the number: which way, where.
std::string edge_note(const Quantity& quantity, const EdgeResult& result, LengthUnit unit);

/// "edge view", and that no card was used.
std::string view_words(const EdgeResult& result);

/// How to take a better photo: first the one that would resolve the verdict. Lengths in mm.
std::vector<Remark> photo_advice(const EdgeResult& result, const ReportSettings& settings);

/// Where x = 0 lies and which way it runs.
std::string origin_sentence(const EdgeResult& result);

/// What to do with the blade, in both units; most important first.
std::vector<InUnits> blade_advice(const EdgeResult& result, const ReportSettings& settings);

}  // namespace evenbevel
