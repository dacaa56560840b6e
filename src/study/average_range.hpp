#pragma once

#include "evenbevel/study.hpp"
#include "layout.hpp"

namespace evenbevel::studies {

/// @pre Every cell holds the same number of readings, two or more.
RangeAnalysis analyse_ranges(const Layout& layout, const StudySettings& settings);

}  // namespace evenbevel::studies
