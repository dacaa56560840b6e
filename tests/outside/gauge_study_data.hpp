#pragma once

#include <array>
#include <string>
#include <vector>

#include "evenbevel/study.hpp"

namespace evenbevel::test {

/// Ten parts, three persons, three trials each: part, then person.
using TenByThree = std::array<std::array<std::array<double, 3>, 3>, 10>;

inline std::vector<StudyReading> readings_of(const TenByThree& table) {
  std::vector<StudyReading> readings;
  for (std::size_t part = 0; part < 10; ++part) {
    for (std::size_t person = 0; person < 3; ++person) {
      for (std::size_t trial = 0; trial < 3; ++trial) {
        readings.push_back({std::to_string(part + 1), std::string(1, "ABC"[person]),
                            std::to_string(trial + 1), table[part][person][trial]});
      }
    }
  }
  return readings;
}

// AIAG, Measurement Systems Analysis, 4th ed. (2010), the worked example of chapter III; data as in
// several public copies, with the same sums.
inline constexpr TenByThree kClassic{{
    {{{0.29, 0.41, 0.64}, {0.08, 0.25, 0.07}, {0.04, -0.11, -0.15}}},
    {{{-0.56, -0.68, -0.58}, {-0.47, -1.22, -0.68}, {-1.38, -1.13, -0.96}}},
    {{{1.34, 1.17, 1.27}, {1.19, 0.94, 1.34}, {0.88, 1.09, 0.67}}},
    {{{0.47, 0.50, 0.64}, {0.01, 1.03, 0.20}, {0.14, 0.20, 0.11}}},
    {{{-0.80, -0.92, -0.84}, {-0.56, -1.20, -1.28}, {-1.46, -1.07, -1.45}}},
    {{{0.02, -0.11, -0.21}, {-0.20, 0.22, 0.06}, {-0.29, -0.67, -0.49}}},
    {{{0.59, 0.75, 0.66}, {0.47, 0.55, 0.83}, {0.02, 0.01, 0.21}}},
    {{{-0.31, -0.20, -0.17}, {-0.63, 0.08, -0.34}, {-0.46, -0.56, -0.49}}},
    {{{2.26, 1.99, 2.01}, {1.80, 2.12, 2.19}, {1.77, 1.45, 1.87}}},
    {{{-1.36, -1.25, -1.31}, {-1.68, -1.62, -1.50}, {-1.49, -1.77, -2.16}}},
}};

// M. S. Houf, D. B. Berman, IEEE Trans. Components, Hybrids, Manuf. Technol. 11 (1988) 516-520:
// thermal impedance of a power module, degC per watt x 100; data as in B. Vidakovic, Statistics for
// Bioengineering Sciences, example 11.14.
inline constexpr TenByThree kImpedance{{
    {{{37, 38, 37}, {41, 41, 40}, {41, 42, 41}}},
    {{{42, 41, 43}, {42, 42, 42}, {43, 42, 43}}},
    {{{30, 31, 31}, {31, 31, 31}, {29, 30, 28}}},
    {{{42, 43, 42}, {43, 43, 43}, {42, 42, 42}}},
    {{{28, 30, 29}, {29, 30, 29}, {31, 29, 29}}},
    {{{42, 42, 43}, {45, 45, 45}, {44, 46, 45}}},
    {{{25, 26, 27}, {28, 28, 30}, {29, 27, 27}}},
    {{{40, 40, 40}, {43, 42, 42}, {43, 43, 41}}},
    {{{25, 25, 25}, {27, 29, 28}, {26, 26, 26}}},
    {{{35, 34, 34}, {35, 35, 34}, {35, 34, 35}}},
}};

}  // namespace evenbevel::test
