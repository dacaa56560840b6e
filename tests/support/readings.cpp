#include "readings.hpp"

#include <algorithm>
#include <cstdio>

namespace evenbevel::test {

ReadingTally tally(std::span<const Reading> readings, const std::string& quantity) {
  ReadingTally out;
  std::vector<double> u95;
  double squares = 0.0, sum = 0.0, held = 0.0;
  for (const Reading& reading : readings) {
    if (reading.quantity != quantity) continue;
    squares += reading.error * reading.error;
    sum += reading.error;
    held += reading.held() ? 1.0 : 0.0;
    out.worst = std::max(out.worst, std::abs(reading.error));
    u95.push_back(reading.U95);
  }
  if (u95.empty()) return out;
  const auto n = static_cast<double>(u95.size());
  out.readings = static_cast<int>(u95.size());
  out.rms = std::sqrt(squares / n);
  out.mean = sum / n;
  out.held = held / n;
  const auto middle = u95.begin() + static_cast<std::ptrdiff_t>(u95.size() / 2);
  std::nth_element(u95.begin(), middle, u95.end());
  out.median_U95 = *middle;
  return out;
}

void print(const std::string& quantity, const ReadingTally& tally) {
  std::printf("%-16s %6d rms %.4f mean %+.4f worst %.4f held %.3f median U95 %.4f\n",
              quantity.c_str(), tally.readings, tally.rms, tally.mean, tally.worst, tally.held,
              tally.median_U95);
}

}  // namespace evenbevel::test
