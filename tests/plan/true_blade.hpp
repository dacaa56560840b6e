#pragma once

#include <map>
#include <random>

#include "evenbevel/plan.hpp"

namespace evenbevel::test {

/// Every quantity of a blade, from the points of its section: no equation of the program's.
using TrueBlade = std::map<PlanQuantity, double>;  // mm, rad

TrueBlade true_blade(std::mt19937_64& rng);

/// Some of the blade's quantities, each with that chance.
std::map<PlanQuantity, double> some_of(const TrueBlade& blade, double chance, std::mt19937_64& rng);

}  // namespace evenbevel::test
