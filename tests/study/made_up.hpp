#pragma once

#include <string>
#include <vector>

#include "evenbevel/study.hpp"
#include "seeded.hpp"

namespace evenbevel::test {

/// A study with known spreads.
struct MadeUp {
  int parts = 10, persons = 3, trials = 3;
  double part = 1.0, person = 0.5, interaction = 0.3, repeatability = 0.4;
};

inline std::vector<double> normals(int count, double sigma, std::mt19937_64& rng) {
  std::vector<double> values;
  for (int i = 0; i < count; ++i) values.push_back(sigma * normal(rng));
  return values;
}

inline std::vector<StudyReading> made_up(const MadeUp& study, std::mt19937_64& rng) {
  const std::vector<double> part = normals(study.parts, study.part, rng);
  const std::vector<double> person = normals(study.persons, study.person, rng);
  std::vector<StudyReading> readings;
  for (int p = 0; p < study.parts; ++p) {
    for (int o = 0; o < study.persons; ++o) {
      const double both = study.interaction * normal(rng);
      for (int t = 0; t < study.trials; ++t) {
        const double value = part[static_cast<std::size_t>(p)] +
                             person[static_cast<std::size_t>(o)] + both +
                             study.repeatability * normal(rng);
        readings.push_back({std::to_string(p), std::to_string(o), std::to_string(t), value});
      }
    }
  }
  return readings;
}

}  // namespace evenbevel::test
