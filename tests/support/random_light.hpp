#pragma once

#include <random>

#include "scene.hpp"

namespace evenbevel::test {

/// Lamps and surroundings of one kind, as they stand in shops.
Lighting random_lighting(LightKind kind, std::mt19937_64& rng);

/// Steel as it comes off belt, mill and scriber; reflectances of steel, jaws and gap.
void random_finish(EdgeScene& scene, std::mt19937_64& rng);

/// In a share of the scenes: face and facet so alike that somewhere along the blade the land
/// differs from one facet by 3 to 25 % only.
void perhaps_weak_land(EdgeScene& scene, std::mt19937_64& rng);

/// A maker who sees no line scribes it again: few lines are left that hardly show.
void deepen_lines(EdgeScene& scene, std::mt19937_64& rng);

/// As a phone meters: the card's white in the upper half of the range, unless the blade would be
/// blown out over most of its length.
void set_exposure(EdgeScene& scene, std::mt19937_64& rng);

}  // namespace evenbevel::test
