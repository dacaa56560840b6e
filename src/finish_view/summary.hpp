#pragma once

#include "scratches.hpp"

namespace evenbevel::finish {

/// Upper limits behind a count's interval: the share of scratches missed among those at least as
/// wide as the report says that they could be seen, and false ones a square centimetre. Garwood's
/// upper limits in the worst of three kinds of eight scenes each (`bench_finish_scenes 8 0 KIND
/// FinishDev`, the photos' noise drawn anew: four lamps 2 of 112 missed, 4 false in 261 cm2; one
/// lamp 4 of 112, 10 in 265; no scratches 3 in 269): 10.2 / 112 and 18.4 / 265.
/// tests/bench/finish.md tests them on other seeds.
inline constexpr double kMostMissed = 0.1, kMostFalse = 0.07;

/// Counts, zones, stations, what could be judged and what not.
FinishFaceResult summarise(const LyingFace& lying, const FlatFace& flat, const LineBank& bank,
                           const std::vector<Groove>& grooves, const std::vector<Lay>& lays,
                           const FinishSettings& settings);

/// What one face's result has to tell beside its numbers.
void add_remarks(const FinishFaceResult& face, const LyingFace& lying,
                 const FinishSettings& settings, FinishResult& result);

/// Directions in which scratches are left out for running along the lay, either side.
inline constexpr double kBesideLay = 20.0 * 3.14159265358979323846 / 180.0;

}  // namespace evenbevel::finish
