#pragma once

#include <Eigen/Core>

#include "plunge_outline.hpp"

namespace evenbevel::edge {

/// How much of each of a patch's samples is facet, and where along it.
struct PlacedSamples {
  Eigen::VectorXd facet, along_mm;
};

/// What the samples miss of the levels, trends and scatters that suit them best, so placed.
PlungeMisfit levels_misfit(const PlungePatch& patch, const PlacedSamples& placed);

}  // namespace evenbevel::edge
