// The claim to earn over random scenes with known truth: sections are read as well as promised and
// the 95 % intervals hold the truth.

#include <cmath>
#include <vector>

#include <gtest/gtest.h>

#include "trial.hpp"

namespace evenbevel::test {
namespace {

constexpr int kScenes = 4;  // 0.7 s each

TEST(ChoilViewPropertyOfRandomScenes, SectionsAreReadAsWellAsStated) {
  std::vector<ChoilTrial> trials;
  int refused = 0, radii = 0, radii_held = 0;
  for (int number = 100; number < 100 + kScenes; ++number) {
    trials.push_back(run_choil_trial(number));
    refused += trials.back().refused ? 1 : 0;
    radii += trials.back().radii;
    radii_held += trials.back().radii_held;
  }
  EXPECT_EQ(refused, 0);
  EXPECT_EQ(radii_held, radii);
  const ReadingTally thickness = tally(trials, "thickness");
  EXPECT_LT(thickness.rms, 0.02);   // mm, the figure to reach
  EXPECT_GE(thickness.held, 0.85);  // readings of one photo share their errors: 4 draws
  EXPECT_GE(tally(trials, "half").held, 0.85);
  EXPECT_GE(tally(trials, "asymmetry").held, 0.85);
  const ReadingTally angle = tally(trials, "angle");
  EXPECT_LT(angle.rms, 0.15);  // degrees, the figure to reach
  EXPECT_GE(angle.held, 0.85);
}

// Hollow blades under tubes that they mirror near the edge, before their tang: the end was once
// taken 8 mm too low, where the mirrored light stops.
TEST(ChoilViewPropertyOfAdverseScenes, NoEdgeIsPlacedFarBelowTheBladesEnd) {
  for (const int number : {32, 36, 101}) {
    const ChoilTrial trial = run_choil_trial(number, ChoilLight::adverse);
    for (const Reading& reading : trial.readings) {
      if (reading.quantity != "thickness near") continue;
      EXPECT_LT(std::abs(reading.error), 0.1) << "scene " << number;  // mm; it was 0.7 to 1.0
    }
  }
}

// A side darker than the end face, in even light: near the edge its outline was taken for the end
// face's border, 2 px off.
TEST(ChoilViewPropertyOfRandomScenes, ADarkSidesOutlineIsNotTakenForTheBorder) {
  const ChoilTrial trial = run_choil_trial(3006);
  EXPECT_FALSE(trial.refused);
  EXPECT_EQ(false_readings(trial), 0);
}

// The camera right along the blade, its lens open wide: strips of both sides show past the end.
TEST(ChoilViewPropertyOfRandomScenes, SidesSeenPastTheEndWidenTheInterval) {
  const ChoilTrial soft = run_choil_trial(3095), tubes = run_choil_trial(4013, ChoilLight::adverse);
  for (const ChoilTrial& trial : {soft, tubes}) {
    EXPECT_FALSE(trial.refused);
    EXPECT_EQ(false_readings(trial), 0);
  }
}

// The edge's own thickness claimed more than it held while it was carried up from three bands.
TEST(ChoilViewPropertyOfRandomScenes, EdgeThicknessIsReadAsWellAsStated) {
  std::vector<ChoilTrial> trials;
  for (int number = 7100; number < 7112; ++number) trials.push_back(run_choil_trial(number));
  const ReadingTally edge = tally(trials, "edge");
  EXPECT_GE(edge.readings, 4);
  EXPECT_GE(edge.held, 0.85);
  EXPECT_LT(edge.rms, 0.02);  // mm; the land's corners and the light alone are 0.012
}

// The side's own end was taken for the end face's border: each gave numbers beyond 1.3 U95.
// Seen while the borders were built: this holds what was won there, `FewHoldAFalseNumber` judges
// it.
TEST(ChoilViewPropertyOfAdverseScenes, ASideLikeTheEndGivesNoFalseNumber) {
  for (const int number : {6018, 6019, 6041}) {
    const ChoilTrial trial = run_choil_trial(number, ChoilLight::adverse);
    EXPECT_FALSE(trial.refused) << "scene " << number;
    EXPECT_EQ(false_readings(trial), 0) << "scene " << number;
  }
}

// Scenes that set nothing. Of 40 others (7100-7139) fewer than one in ten held a false number: two
// in twelve are the most to be expected of that.
TEST(ChoilViewPropertyOfAdverseScenes, FewHoldAFalseNumber) {
  constexpr int kFirst = 7000, kAdverse = 12, kMostFalse = 2, kLeastMeasured = 5;
  int with_false = 0, measured = 0;
  for (int number = kFirst; number < kFirst + kAdverse; ++number) {
    const ChoilTrial trial = run_choil_trial(number, ChoilLight::adverse);
    measured += trial.refused ? 0 : 1;
    with_false += false_readings(trial) > 0 ? 1 : 0;
  }
  EXPECT_LE(with_false, kMostFalse);
  EXPECT_GE(measured, kLeastMeasured);  // Refusing all is no way out.
}

}  // namespace
}  // namespace evenbevel::test
