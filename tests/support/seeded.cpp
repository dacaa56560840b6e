#include "seeded.hpp"

#include <cmath>

#include "evenbevel/units.hpp"

namespace evenbevel::test {

std::mt19937_64 seeded(std::string_view suite, int scene) {
  // FNV-1a, 64 bits (public domain; constants from memory).
  std::uint64_t hash = 14695981039346656037ULL;
  const auto mix = [&hash](unsigned char byte) { hash = (hash ^ byte) * 1099511628211ULL; };
  for (const char c : suite) mix(static_cast<unsigned char>(c));
  for (int shift = 0; shift < 32; shift += 8)
    mix(static_cast<unsigned char>((scene >> shift) & 255));
  return std::mt19937_64(hash);
}

double uniform(std::mt19937_64& rng, double low, double high) {
  const double unit = static_cast<double>(rng() >> 11) * 0x1.0p-53;
  return low + (high - low) * unit;
}

bool chance(std::mt19937_64& rng, double probability) {
  return uniform(rng, 0.0, 1.0) < probability;
}

double normal(std::mt19937_64& rng) {
  const double radius = std::sqrt(-2.0 * std::log(1.0 - uniform(rng, 0.0, 1.0)));
  return radius * std::cos(2.0 * kPi * uniform(rng, 0.0, 1.0));
}

}  // namespace evenbevel::test
