#pragma once

#include <string>
#include <vector>

#include "evenbevel/report.hpp"

namespace evenbevel {

/// Two or three words, in capitals for the picture and the page: "WITHIN 0.050 mm".
std::string verdict_headline(const EdgeResult& result, const ReportSettings& settings);

/// One sentence with the numbers that the verdict rests on.
std::string verdict_sentence(const EdgeResult& result, const ReportSettings& settings);

/// The photo's and the measurement's, each once.
std::vector<std::string> all_warnings(const EdgeResult& result, const Photo& photo);

/// "edge view", and that no card was used.
std::string view_words(const EdgeResult& result);

/// Where x = 0 lies and which way it runs.
std::string origin_sentence(const EdgeResult& result);

}  // namespace evenbevel
