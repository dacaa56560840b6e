#include "advice/bevel_zones.hpp"

#include <cmath>
#include <limits>

#include <gtest/gtest.h>

#include "seeded.hpp"

namespace evenbevel {
namespace {

/// A difference that wanders along the blade and is now and then not seen, or no number.
SideResult any_profile(std::mt19937_64& rng) {
  SideResult result;
  result.faces.resize(2);
  const int count = static_cast<int>(test::uniform(rng, 0.0, 60.0));
  const double step_mm = test::uniform(rng, 0.5, 3.0);
  double difference = test::uniform(rng, -0.5, 0.5);
  for (int i = 0; i < count; ++i) {
    SideStation station;
    station.x_mm = -10.0 + step_mm * i;
    difference += 0.15 * test::normal(rng);
    const double u = test::uniform(rng, 0.02, 0.2);
    const double dof =
        test::uniform(rng, 0.0, 1.0) < 0.5 ? 5.0 : std::numeric_limits<double>::infinity();
    const double luck = test::uniform(rng, 0.0, 1.0);
    if (luck > 0.1) station.bevel_height_difference_mm = Measured{difference, u, dof};
    if (luck > 0.97) station.bevel_height_difference_mm->value = std::nan("");
    result.stations.push_back(station);
  }
  return result;
}

enum class Asked { unseen, nothing, left, right };

/// What one station alone asks for, from the definition.
Asked asked_at(const SideStation& station, std::optional<double> tolerance_mm) {
  const auto& d = station.bevel_height_difference_mm;
  if (!d || !std::isfinite(d->value)) return Asked::unseen;
  const double low = d->value - U95(*d);
  const double high = d->value + U95(*d);
  if (tolerance_mm && low >= -*tolerance_mm && high <= *tolerance_mm) return Asked::nothing;
  if (low > 0.0) return Asked::right;  // the left line is higher for certain
  return high < 0.0 ? Asked::left : Asked::nothing;
}

Asked asked_in(const BevelZone& zone) {
  if (!zone.grind) return Asked::nothing;
  return zone.grind == Face::left ? Asked::left : Asked::right;
}

TEST(BevelZonesProperty, TheySayExactlyWhatEachStationSays) {
  int asked = 0, left_alone = 0, unseen = 0;
  for (int trial = 0; trial < 2000; ++trial) {
    std::mt19937_64 rng = test::seeded("BevelZonesProperty", trial);
    const SideResult result = any_profile(rng);
    std::optional<double> tolerance;
    if (trial % 2 == 1) tolerance = test::uniform(rng, 0.1, 1.0);
    const std::vector<BevelZone> zones = bevel_zones(result, tolerance);
    for (const SideStation& station : result.stations) {
      const Asked want = asked_at(station, tolerance);
      int in_zones = 0;
      for (const BevelZone& zone : zones) {
        if (station.x_mm < zone.from_mm || station.x_mm > zone.to_mm) continue;
        ++in_zones;
        ASSERT_EQ(asked_in(zone), want) << trial << " x " << station.x_mm;
        if (!zone.grind) continue;
        const double size = std::abs(station.bevel_height_difference_mm->value);
        EXPECT_GE(size, zone.least_mm.value);
        EXPECT_LE(size, zone.most_mm.value);
        EXPECT_GT(zone.least_mm.value, U95(zone.least_mm));
      }
      EXPECT_EQ(in_zones, want == Asked::unseen ? 0 : 1) << trial << " x " << station.x_mm;
      ++(want == Asked::unseen ? unseen : want == Asked::nothing ? left_alone : asked);
    }
    for (std::size_t i = 0; i + 1 < zones.size(); ++i) {
      EXPECT_LT(zones[i].to_mm, zones[i + 1].from_mm) << "from handle to tip";
    }
  }
  EXPECT_GT(asked, 10'000);
  EXPECT_GT(left_alone, 10'000);
  EXPECT_GT(unseen, 1'000);
}

// One zone a stretch: neighbours that ask for the same are not cut in two.
TEST(BevelZonesProperty, ThereAreAsManyAsThereAreChanges) {
  for (int trial = 0; trial < 500; ++trial) {
    std::mt19937_64 rng = test::seeded("BevelZonesChanges", trial);
    const SideResult result = any_profile(rng);
    std::size_t changes = 0;
    Asked before = Asked::unseen;
    for (const SideStation& station : result.stations) {
      const Asked here = asked_at(station, {});
      if (here != Asked::unseen && here != before) ++changes;
      before = here;
    }
    EXPECT_EQ(bevel_zones(result, {}).size(), changes) << trial;
  }
}

SideResult steps(const std::vector<double>& differences_mm) {
  SideResult result;
  result.faces.resize(2);
  for (std::size_t i = 0; i < differences_mm.size(); ++i) {
    SideStation station;
    station.x_mm = static_cast<double>(i);
    station.bevel_height_difference_mm = Measured{differences_mm[i], 0.05};  // U95 0.098
    result.stations.push_back(station);
  }
  return result;
}

std::string grind_words(const std::vector<BevelZone>& zones, Face face) {
  const std::optional<Remark> grind = grind_face_remark(zones, face);
  return grind ? sentence(*grind, LengthUnit::mm) : "";
}

TEST(BevelZonesClosedForm, TheWordsNameTheLongestStretches) {
  const std::vector<BevelZone> zones = bevel_zones(
      steps({0.5, 0, 0.5, 0.5, 0, 0.3, 0.4, 0.5, 0, 0.5, 0.5, 0, 0.9, 0, -0.5, 0, 0, 0}), {});
  EXPECT_EQ(grind_words(zones, Face::right),
            "Grind the right face from x = 2 to 3 mm, from x = 5 to 7 mm, from x = 9 to 10 mm and "
            "in 2 more: its bevel line has still to come up by 0.300 to 0.900 mm (U95 "
            "0.098 mm, most at x = 12 mm).");
  EXPECT_EQ(grind_words(zones, Face::left),
            "Grind the left face at x = 14 mm: its bevel line has still to come up by 0.500 mm "
            "(U95 0.098 mm, most at x = 14 mm).");
}

TEST(BevelZonesClosedForm, TheRibbonSaysUpOrLeave) {
  const BevelZone zone = bevel_zones(steps({0.40, 0.45}), {}).front();
  EXPECT_EQ(sentence(bevel_face_remark(zone, Face::right), LengthUnit::mm),
            "bring up by up to 0.450 mm");
  EXPECT_EQ(sentence(bevel_face_remark(zone, Face::left), LengthUnit::mm), "leave");
  EXPECT_EQ(sentence(come_up_remark(bevel_zones(steps({0.45}), {}).front()), LengthUnit::inch),
            "0.0177 in");
}

TEST(BevelZonesBadInput, OneFaceOrNoStationHasNone) {
  EXPECT_TRUE(bevel_zones({}, {}).empty());
  EXPECT_EQ(grind_words({}, Face::left), "");
  EXPECT_EQ(grind_words(bevel_zones(steps({0.05, -0.09}), {}), Face::left), "");
}

}  // namespace
}  // namespace evenbevel
