#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "evenbevel/error.hpp"
#include "evenbevel/record_compare.hpp"
#include "knife_maker.hpp"
#include "seeded.hpp"

namespace evenbevel {
namespace {

using test::EdgeReport;
using test::json_of;
using testing::HasSubstr;

std::vector<Steel> steel_of(const std::string& earlier_report, const std::string& later_report) {
  return steel_between(read_statement(earlier_report), read_statement(later_report));
}

const Steel* find(const std::vector<Steel>& steel, SteelKind kind, Face face) {
  for (const Steel& one : steel) {
    if (one.kind == kind && one.face == face) return &one;
  }
  return nullptr;
}

// By hand: half-lands 0.200 + 0.050 and 0.200 - 0.050 before, 0.150 + 0.010 and 0.150 - 0.010
// after: 0.090 off the left face, 0.010 off the right one.
TEST(SteelClosedForm, EachFaceLosesWhatItsBorderMoved) {
  const std::string before =
      json_of({.offset = {0.050, 0.003, 0.006}, .width = {0.400, 0.008, 0.016}});
  const std::string after =
      json_of({.offset = {0.010, 0.003, 0.006}, .width = {0.300, 0.008, 0.016}});
  const std::vector<Steel> steel = steel_of(before, after);
  const Steel* left = find(steel, SteelKind::edge, Face::left);
  const Steel* right = find(steel, SteelKind::edge, Face::right);
  ASSERT_TRUE(left != nullptr && right != nullptr);
  EXPECT_NEAR(left->value_mm, 0.090, 1e-12);
  EXPECT_NEAR(right->value_mm, 0.010, 1e-12);
  // u of a border: hypot(0.003, 0.008 / 2) = 0.005; of two: 0.005 sqrt(2).
  EXPECT_NEAR(left->u_mm, 0.005 * std::sqrt(2.0), 1e-12);
  EXPECT_NEAR(left->U95_mm, 2.0 * left->u_mm, 1e-12);
  EXPECT_TRUE(left->resolved);
  EXPECT_FALSE(right->resolved);
}

// Ground from the whole stock: 3.3 / 2 to each side before, 0.130 +- 0.020 after.
TEST(SteelClosedForm, TheFirstGrindingStartsFromTheStock) {
  const std::string scribed = json_of({.stage = "scribed",
                                       .offset = {0.005, 0.003, 0.006},
                                       .width = {0.250, 0.004, 0.008},
                                       .thickness_mm = 3.3,
                                       .thickness_u_mm = 0.008});
  const std::string ground =
      json_of({.offset = {0.020, 0.003, 0.006}, .width = {0.260, 0.000, 0.000}});
  const std::vector<Steel> steel = steel_of(scribed, ground);
  EXPECT_NEAR(find(steel, SteelKind::edge, Face::left)->value_mm, 1.65 - 0.150, 1e-12);
  EXPECT_NEAR(find(steel, SteelKind::edge, Face::right)->value_mm, 1.65 - 0.110, 1e-12);
  EXPECT_NEAR(find(steel, SteelKind::edge, Face::left)->u_mm, 0.005, 1e-12);
  // The left line stands at 0.125 + 0.005, the right one at 0.125 - 0.005.
  EXPECT_NEAR(find(steel, SteelKind::edge_line, Face::left)->value_mm, 0.150 - 0.130, 1e-12);
  EXPECT_NEAR(find(steel, SteelKind::edge_line, Face::right)->value_mm, 0.110 - 0.120, 1e-12);
}

TEST(SteelClosedForm, NothingIsSaidOfWhatTheReportsDoNotShow) {
  const std::string scribed = json_of({.stage = "scribed"});
  EXPECT_TRUE(steel_of(scribed, scribed).empty());
  EXPECT_TRUE(steel_of(json_of({}), scribed).empty()) << "a ground edge has no lines";
  const std::string other = R"({"schema": "evenbevel.report/1", "view": "side", "quantities": {},
    "input": {"photo": "a.jpg"}})";
  EXPECT_TRUE(steel_of(json_of({}), other).empty()) << "two views do not compare";
}

TEST(SteelClosedForm, TheBevelLineGoesUp) {
  const auto side = [](double left, double right) {
    return R"({"schema": "evenbevel.report/1", "view": "side", "input": {"photo": "a.jpg"},
      "quantities": {"bevel_height_left": {"value": )" +
           std::to_string(left) + R"(, "u": 0.03, "U95": 0.06}, "bevel_height_right": {"value": )" +
           std::to_string(right) + R"(, "u": 0.04, "U95": 0.08}}})";
  };
  const std::vector<Steel> steel = steel_of(side(12.0, 12.5), side(13.0, 12.55));
  const Steel* left = find(steel, SteelKind::bevel_line, Face::left);
  const Steel* right = find(steel, SteelKind::bevel_line, Face::right);
  ASSERT_TRUE(left != nullptr && right != nullptr);
  EXPECT_NEAR(left->value_mm, 1.0, 1e-12);
  EXPECT_NEAR(left->u_mm, 0.03 * std::sqrt(2.0), 1e-12);
  EXPECT_TRUE(left->resolved);
  EXPECT_NEAR(right->value_mm, 0.05, 1e-12);
  EXPECT_FALSE(right->resolved);
}

nlohmann::ordered_json stated(double value) {
  return {{"value", value}, {"u", 0.03}, {"U95", 0.06}};
}

nlohmann::ordered_json side_report(double spine_to_bevel_mm, double bevel_height_mm) {
  return {{"schema", "evenbevel.report/1"},
          {"view", "side"},
          {"x_origin", "plunge_lines"},
          {"input", {{"left", {{"photo", "a.jpg"}}}}},
          {"quantities",
           {{"bevel_height_left", stated(bevel_height_mm)},
            {"spine_to_bevel_left", stated(spine_to_bevel_mm)}}},
          {"stations", nlohmann::ordered_json::array()}};
}

// An edge ground back by 0.4 mm lowers every height above it; the bevel line itself went up 1.0 mm.
TEST(SteelClosedForm, AnEdgeGroundBackDoesNotLowerTheBevelLine) {
  const std::vector<Steel> steel =
      steel_of(side_report(10.0, 12.0).dump(), side_report(9.0, 12.6).dump());
  ASSERT_EQ(steel.size(), 1U);
  EXPECT_EQ(steel[0].face, Face::left);
  EXPECT_NEAR(steel[0].value_mm, 1.0, 1e-12);
  EXPECT_NEAR(steel[0].u_mm, 0.03 * std::sqrt(2.0), 1e-12);
}

// A bevel line that falls by 0.1 mm a mm toward the tip, seen over different lengths before and
// after it went up by 0.5 mm everywhere: the two means differ by something else.
TEST(SteelClosedForm, TheBevelLineIsComparedWhereBothReportsSawIt) {
  const auto seen = [](double from_x, double to_x, double gone_up, const char* x_origin) {
    nlohmann::ordered_json json = side_report(0.0, 0.0);
    json["x_origin"] = x_origin;
    double sum = 0.0;
    int n = 0;
    for (double x = from_x; x <= to_x; x += 1.0) {
      const double distance = 5.0 + 0.1 * x - gone_up;
      json["stations"].push_back({{"x", x}, {"spine_to_bevel_left", stated(distance)}});
      sum += distance;
      ++n;
    }
    json["quantities"]["spine_to_bevel_left"]["value"] = sum / n;
    return json.dump();
  };
  const auto up = [&](const char* origin) {
    return steel_of(seen(0.0, 60.0, 0.0, origin), seen(20.5, 80.5, 0.5, origin))[0].value_mm;
  };
  EXPECT_NEAR(up("plunge_lines"), 0.5, 1e-9);
  EXPECT_NEAR(up("handle_end"), 0.5 - 0.1 * 20.5, 1e-9);
}

std::string choil_report(const char* axis_from, double left_mm, double right_mm) {
  const auto stated = [](double value) {
    return nlohmann::ordered_json{{"value", value}, {"u", 0.01}, {"U95", 0.02}};
  };
  nlohmann::ordered_json depth = stated(left_mm + right_mm);
  depth["depth"] = 5.0;
  depth["half_left"] = stated(left_mm);
  depth["half_right"] = stated(right_mm);
  const nlohmann::ordered_json json = {{"schema", "evenbevel.report/1"},
                                       {"view", "choil"},
                                       {"input", {{"photo", "a.jpg"}}},
                                       {"axis", {{"from", axis_from}}},
                                       {"quantities", {{"thickness_at", {depth}}}}};
  return json.dump();
}

// 0.45 + 0.40 before, 0.30 + 0.35 after: 0.20 off both, 0.15 off the left and 0.05 off the right.
TEST(SteelClosedForm, TheSectionLosesOnEachFaceWhereTheFlatsWereItsAxis) {
  const std::vector<Steel> steel =
      steel_of(choil_report("flats", 0.45, 0.40), choil_report("flats", 0.30, 0.35));
  ASSERT_EQ(steel.size(), 3U);
  EXPECT_FALSE(steel[0].face);
  EXPECT_NEAR(steel[0].value_mm, 0.20, 1e-12);
  EXPECT_NEAR(find(steel, SteelKind::behind_edge, Face::left)->value_mm, 0.15, 1e-12);
  EXPECT_NEAR(find(steel, SteelKind::behind_edge, Face::right)->value_mm, 0.05, 1e-12);
  EXPECT_EQ(find(steel, SteelKind::behind_edge, Face::left)->at_mm, 5.0);
  for (const char* one : {"flats", "median line and card"}) {
    const std::vector<Steel> no_axis =
        steel_of(choil_report(one, 0.45, 0.40), choil_report("median line and card", 0.30, 0.35));
    ASSERT_EQ(no_axis.size(), 1U) << "halves about the section's own middle tell nothing of a face";
    EXPECT_FALSE(no_axis[0].face);
  }
}

// Two photos that show different lengths of a land that widens along the blade: only the stretch
// that both saw counts, when both measure x from the plunge lines.
TEST(SteelClosedForm, OnlyWhatBothSawCounts) {
  const auto wedge = [](double first_x, int stations, double taken, bool from_plunge) {
    EdgeReport report{.first_x_mm = first_x, .stations = 0, .x_from_plunge = from_plunge};
    nlohmann::ordered_json json = nlohmann::ordered_json::parse(json_of(report));
    for (int i = 0; i < stations; ++i) {
      const double x = first_x + i;
      json["stations"].push_back({{"x", x},
                                  {"centreline_offset", stated(0.0)},
                                  {"land_width", stated(0.3 + 0.002 * x - taken)}});
    }
    return json.dump();
  };
  const std::vector<Steel> steel = steel_of(wedge(0.0, 60, 0.0, true), wedge(20.5, 60, 0.1, true));
  EXPECT_NEAR(find(steel, SteelKind::edge, Face::left)->value_mm, 0.05, 1e-9);
  const std::vector<Steel> blind =
      steel_of(wedge(0.0, 60, 0.0, false), wedge(20.5, 60, 0.1, false));
  EXPECT_NEAR(find(blind, SteelKind::edge, Face::left)->value_mm, 0.05 - 0.0205, 1e-9);
}

// JCGM 100:2008, 5.1.2: over repeated measurements with the stated u, the difference scatters with
// the u that is stated for it.
TEST(SteelProperty, TheStatedUncertaintyIsTheSpread) {
  constexpr int kTrials = 2000;
  constexpr double kBorder_mm = 0.004;
  double sum_z2 = 0.0;
  int held = 0;
  for (int trial = 0; trial < kTrials; ++trial) {
    std::mt19937_64 rng = test::seeded("SteelProperty", trial);
    const auto seen = [&](double left_mm, double right_mm) {
      const double left = left_mm + kBorder_mm * test::normal(rng);
      const double right = right_mm + kBorder_mm * test::normal(rng);
      // Offset (left - right) / 2 and width left + right of two independent borders.
      const double u_c = kBorder_mm / std::sqrt(2.0);
      const double u_e = kBorder_mm * std::sqrt(2.0);
      return json_of({.offset = {0.5 * (left - right), u_c, 1.96 * u_c},
                      .width = {left + right, u_e, 1.96 * u_e},
                      .stations = 6});
    };
    const std::vector<Steel> steel = steel_of(seen(0.20, 0.18), seen(0.15, 0.14));
    const Steel* left = find(steel, SteelKind::edge, Face::left);
    const double z = (left->value_mm - 0.05) / left->u_mm;
    sum_z2 += z * z;
    held += std::abs(left->value_mm - 0.05) <= left->U95_mm ? 1 : 0;
  }
  EXPECT_NEAR(std::sqrt(sum_z2 / kTrials), 1.0, 0.05);            // 3 / sqrt(2 * 2000)
  EXPECT_NEAR(static_cast<double>(held) / kTrials, 0.95, 0.015);  // 3 sqrt(0.95 * 0.05 / 2000)
}

TEST(CompareClosedForm, TheNewestEntriesOfTwoStagesAreCompared) {
  const test::Shop shop;
  shop.record().add(shop.entry("paring 3", "60 grit", "a", {.offset = {0.100, 0.003, 0.006}}));
  shop.record().add(shop.entry("paring 3", "60 grit", "b", {.offset = {0.050, 0.003, 0.006}}));
  shop.record().add(shop.entry("paring 3", "120 grit", "c", {.offset = {0.010, 0.004, 0.008}}));
  Record record = shop.record();
  const Comparison comparison = compare_stages(record, "paring 3", "60 GRIT", "120 grit");
  ASSERT_EQ(comparison.views.size(), 1U);
  EXPECT_EQ(comparison.views[0].from.id, 2);
  const Change& change = comparison.views[0].changes.front();
  EXPECT_EQ(change.from.name, "centreline_offset");
  EXPECT_NEAR(change.change, -0.040, 1e-12);
  EXPECT_NEAR(change.u, 0.005, 1e-12);
  EXPECT_NEAR(change.U95, 0.010, 1e-12);
  EXPECT_TRUE(change.resolved);
  EXPECT_THAT(comparison_text(comparison, LengthUnit::mm), HasSubstr("-0.040 mm  U95 0.010 mm"));
}

TEST(CompareClosedForm, WhereXIsZeroIsSaidWhereAnXIs) {
  Comparison comparison{.knife = "paring 3", .from_stage = "60 grit", .to_stage = "120 grit"};
  comparison.views.resize(1);
  comparison.views[0].changes.resize(1);
  comparison.views[0].changes[0].to.name = "land_width";
  EXPECT_THAT(comparison_text(comparison, LengthUnit::mm), testing::Not(HasSubstr("x = 0")));
  comparison.views[0].changes[0].to.name = "plunge_right";
  ViewComparison& view = comparison.views[0];
  view.from.id = 3, view.to.id = 5;
  view.from.x_origin = view.to.x_origin = "plunge_lines";
  EXPECT_THAT(comparison_text(comparison, LengthUnit::mm),
              HasSubstr("\n  x = 0 at the plunge line;"));
  view.to.x_origin = "handle_end";
  view.to.tip_x_mm = 120.4;
  EXPECT_THAT(comparison_text(comparison, LengthUnit::mm),
              testing::AllOf(HasSubstr("entry 3: x = 0 at the plunge line; entry 5: x = 0 at the "
                                       "handle end of the blade, 120 mm from the tip"),
                             HasSubstr("not to be told: x = 0 is another place")));
}

TEST(CompareClosedForm, SteelThatComesBackIsSaid) {
  const test::Shop shop;
  shop.record().add(shop.entry("paring 3", "60 grit", "a", {.width = {0.2, 0.01, 0.02}}));
  shop.record().add(shop.entry("paring 3", "120 grit", "b", {.width = {0.4, 0.01, 0.02}}));
  Record record = shop.record();
  EXPECT_THAT(compare_stages(record, "paring 3", "60 grit", "120 grit").remarks,
              testing::Contains(HasSubstr("moved outward")));
}

TEST(CompareClosedForm, ThickerBehindTheEdgeIsSaidOnce) {
  std::vector<Steel> steel;
  for (const double at_mm : {1.0, 5.0}) {
    steel.push_back({.kind = SteelKind::behind_edge,
                     .at_mm = at_mm,
                     .value_mm = -0.2,
                     .u_mm = 0.02,
                     .U95_mm = 0.04,
                     .resolved = true});
  }
  EXPECT_THAT(steel_remarks(steel), testing::ElementsAre(HasSubstr("ground back in between")));
  steel[0].resolved = steel[1].resolved = false;
  EXPECT_TRUE(steel_remarks(steel).empty());
}

TEST(CompareBadInput, StagesThatAreNotThereAreRefused) {
  const test::Shop shop;
  shop.record().add(shop.entry("paring 3", "60 grit", "a"));
  Record record = shop.record();
  EXPECT_THROW(compare_stages(record, "paring 3", "60 grit", "120 grit"), Error);
  EXPECT_THROW(compare_stages(record, "paring 3", "60 grit", "60 grit"), Error);
  EXPECT_THROW(compare_stages(record, "none", "60 grit", "120 grit"), Error);
}

}  // namespace
}  // namespace evenbevel
