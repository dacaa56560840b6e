#pragma once

#include "evenbevel/study.hpp"
#include "layout.hpp"

namespace evenbevel::studies {

VarianceAnalysis analyse_variance(const Layout& layout, const StudySettings& settings);

/// What follows from repeatability, person, interaction and part: reproducibility, the set-up as a
/// whole, the total, categories and share of the tolerance. Leaves intervals alone.
void add_up(StudySpreads& spreads, const StudySettings& settings);

}  // namespace evenbevel::studies
