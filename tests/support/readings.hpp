#pragma once

#include <cmath>
#include <span>
#include <string>
#include <vector>

namespace evenbevel::test {

/// One number read, against its truth.
struct Reading {
  std::string quantity;
  double error = 0.0, U95 = 0.0;
  bool held() const { return std::abs(error) <= U95; }
};

/// How the errors and the stated intervals of one quantity went.
struct ReadingTally {
  int readings = 0;
  double rms = 0.0, worst = 0.0, mean = 0.0, median_U95 = 0.0;
  double held = 1.0;  ///< Share.
};

ReadingTally tally(std::span<const Reading> readings, const std::string& quantity);

/// Over many trials, each with its `readings`.
template <class Trial>
ReadingTally tally(const std::vector<Trial>& trials, const std::string& quantity) {
  std::vector<Reading> all;
  for (const Trial& trial : trials) {
    all.insert(all.end(), trial.readings.begin(), trial.readings.end());
  }
  return tally(std::span<const Reading>(all), quantity);
}

/// A line of a bench's table.
void print(const std::string& quantity, const ReadingTally& tally);

}  // namespace evenbevel::test
