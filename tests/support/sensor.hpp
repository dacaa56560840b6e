#pragma once

#include <cstdint>
#include <random>
#include <vector>

namespace evenbevel::test {

/// Standard normals, four from one draw of 64 bits.
class Normals {
 public:
  explicit Normals(std::mt19937_64& rng) : rng_(rng) {}
  float next();

 private:
  std::mt19937_64& rng_;
  std::uint64_t bits_ = 0;
  int left_ = 0;
};

/// Code (0..1) of linear light, which is clipped at 1.
class ToneCurve {
 public:
  explicit ToneCurve(bool srgb);
  float operator()(float linear) const;

 private:
  std::vector<float> table_;
};

/// sRGB code (0..1) of linear light (0..1).
double srgb_code(double linear);

}  // namespace evenbevel::test
