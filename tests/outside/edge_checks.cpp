#include "edge_checks.hpp"

#include <cmath>

#include <gtest/gtest.h>

namespace evenbevel::outside {

EdgeSettings settings_of(double thickness_mm, Stage stage) {
  EdgeSettings settings;
  settings.thickness_mm = thickness_mm;
  settings.stage = stage;
  settings.tip = Tip::right;
  settings.step_mm = 2.0;
  return settings;
}

EdgeResult measure(const EdgePicture& picture, const EdgeSettings& settings) {
  return edge_view(draw(picture), picture.camera(), settings);
}

void expect_held(const EdgeResult& result, double truth_mm) {
  ASSERT_TRUE(result.centreline_offset_mm);
  EXPECT_LE(std::abs(result.centreline_offset_mm->value - truth_mm),
            U95(*result.centreline_offset_mm));
  int read = 0, held = 0;
  for (const EdgeStation& station : result.stations) {
    if (!station.centreline_offset_mm) continue;
    const Measured& offset = *station.centreline_offset_mm;
    ++read, held += std::abs(offset.value - truth_mm) <= U95(offset) ? 1 : 0;
  }
  EXPECT_GE(read, 0.95 * static_cast<double>(result.stations.size()));
  EXPECT_GE(held, 0.95 * read);
}

void expect_offset(const EdgeResult& result, double truth_mm) {
  expect_held(result, truth_mm);
  ASSERT_TRUE(result.centreline_offset_mm);
  EXPECT_NEAR(result.centreline_offset_mm->value, truth_mm, kOffset_mm);
}

}  // namespace evenbevel::outside
