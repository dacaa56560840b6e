#pragma once

namespace evenbevel::test {

/// Linear light in B, G, R; 1 is the level of full scale at an exposure of 1.
struct Paint {
  float b = 0.0F, g = 0.0F, r = 0.0F;

  double mean() const { return (static_cast<double>(b) + g + r) / 3.0; }
};
inline Paint grey_paint(double level) {
  return {static_cast<float>(level), static_cast<float>(level), static_cast<float>(level)};
}
inline Paint operator*(const Paint& a, const Paint& by) {
  return {a.b * by.b, a.g * by.g, a.r * by.r};
}
inline Paint operator*(const Paint& a, double by) {
  const auto s = static_cast<float>(by);
  return {a.b * s, a.g * s, a.r * s};
}
inline Paint operator+(const Paint& a, const Paint& b) { return {a.b + b.b, a.g + b.g, a.r + b.r}; }
inline Paint blend(const Paint& a, const Paint& b, double share_of_b) {
  const auto s = static_cast<float>(share_of_b);
  return {a.b + s * (b.b - a.b), a.g + s * (b.g - a.g), a.r + s * (b.r - a.r)};
}

}  // namespace evenbevel::test
