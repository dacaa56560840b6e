#pragma once

#include <random>
#include <string_view>

namespace evenbevel::test {

/// A generator that gives the same scene anywhere, in any order: seeded from the suite's name and
/// the scene's number by a hash of our own (std::hash differs between libraries).
std::mt19937_64 seeded(std::string_view suite, int scene);

/// Uniform in [low, high), from raw generator bits (std distributions differ between libraries).
double uniform(std::mt19937_64& rng, double low, double high);

/// True with that probability.
bool chance(std::mt19937_64& rng, double probability);

/// Standard normal, by Box and Muller's transform from raw generator bits.
double normal(std::mt19937_64& rng);

}  // namespace evenbevel::test
