#include <algorithm>
#include <array>
#include <fstream>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "evenbevel/error.hpp"
#include "evenbevel/statement.hpp"
#include "scratch_folder.hpp"

namespace evenbevel {
namespace {

using testing::AllOf;
using testing::ElementsAre;
using testing::HasSubstr;

/// As it was written, byte for byte.
std::string kept_report(const std::string& name) {
  return test::file_text(std::filesystem::path(REPORTS_FOLDER) / (name + ".json"));
}
std::string old_report(const std::string& name) { return kept_report("schema-1/" + name); }

constexpr std::array kNames = {"edge-ground", "edge-turned", "side", "choil"};

std::string with(const std::string& members) {
  return R"({"schema": "evenbevel.report/2", "view": "edge")" +
         (members.empty() ? "" : ", " + members) + "}";
}

Statement read_with(const std::string& members) { return read_statement(with(members)); }

/// The error's message; fails when there is none.
template <class Read>
std::string refused(const Read& read) {
  try {
    read();
  } catch (const Error& error) {
    EXPECT_FALSE(error.do_next().empty());
    return error.what();
  }
  ADD_FAILURE() << "no Error";
  return "";
}
std::string text_refused(const std::string& json) {
  return refused([&] { read_statement(json); });
}

// Reading loses nothing that writing states, and the other way round.
TEST(StatementFileProperty, AKeptReportIsWrittenAgainByteForByte) {
  for (const char* name : {"edge-budgets", "side-budgets"}) {
    const std::string text = kept_report(name);
    ASSERT_GT(text.size(), 10'000U) << name;
    EXPECT_EQ(statement_json(read_statement(text)), text) << name;
  }
}

/// With the budget in the quantities' order, whatever order it had.
template <class Json>
Json with_budget_sorted(Json report) {
  std::stable_sort(report["budget"].begin(), report["budget"].end(),
                   [](const Json& a, const Json& b) { return a["quantity"] < b["quantity"]; });
  return report;
}

// Budgets were written in the order in which they were made, and of some quantities alone.
TEST(StatementFileProperty, AKeptReportWithFewerBudgetsLosesNothing) {
  using Json = nlohmann::ordered_json;
  for (const char* name : kNames) {
    const std::string text = kept_report(name);
    const std::string again = statement_json(read_statement(text));
    EXPECT_EQ(with_budget_sorted(Json::parse(again)).dump(),
              with_budget_sorted(Json::parse(text)).dump())
        << name;
    EXPECT_EQ(statement_json(read_statement(again)), again) << name;
  }
}

// Schema 1 had sentences where schema 2 has codes; nothing else of a report has changed.
TEST(StatementFileProperty, AnOldReportIsReadWhole) {
  for (const char* name : kNames) {
    nlohmann::json old = nlohmann::json::parse(old_report(name));
    nlohmann::json now = nlohmann::json::parse(statement_json(read_statement(old_report(name))));
    for (const char* part : {"advice", "warnings"}) {
      ASSERT_EQ(now[part].size(), old[part].size()) << name;
      for (std::size_t i = 0; i < old[part].size(); ++i) {
        EXPECT_EQ(now[part][i]["text"], old[part][i]) << name;
        EXPECT_EQ(now[part][i]["code"], "as_written") << name;
      }
      old.erase(part);
      now.erase(part);
    }
    EXPECT_EQ(old["schema"], "evenbevel.report/1");
    EXPECT_EQ(now["schema"], "evenbevel.report/2");
    old.erase("schema");
    now.erase("schema");
    EXPECT_EQ(with_budget_sorted(now), with_budget_sorted(old)) << name;
  }
}

TEST(StatementFileProperty, ARemarkReadBackSaysTheSameInBothUnits) {
  const Statement statement{
      .view = "edge",
      .advice = {remark<RemarkCode::move_over_edge>("right")},
      .warnings = {remark<RemarkCode::card_bent>(1.0 / 3.0), remark<RemarkCode::quick_look>(),
                   remark<RemarkCode::bevel_line_in_parts>("left", 37)}};
  const Statement again = read_statement(statement_json(statement));
  ASSERT_EQ(again.advice.size(), 1U);
  EXPECT_EQ(again.advice[0].code, RemarkCode::move_over_edge);
  EXPECT_EQ(sentences(again.advice), sentences(statement.advice));
  EXPECT_EQ(sentences(again.warnings), sentences(statement.warnings));
}

// A later evenbevel's codes are not known here, and a hand may have been at the file.
TEST(StatementFileBadInput, ARemarkThatIsNotUnderstoodKeepsItsText) {
  for (const char* one : {R"({"code": "later", "values": {}, "text": "Look."})",
                          R"({"code": "card_bent", "values": {}, "text": "Look."})",
                          R"({"code": "card_bent", "values": {"bend_mm": "x"}, "text": "Look."})",
                          R"({"text": "Look."})", R"("Look.")"}) {
    const Statement report = read_with("\"warnings\": [" + std::string(one) + "]");
    EXPECT_THAT(sentences(report.warnings, LengthUnit::mm), ElementsAre("Look.")) << one;
  }
  EXPECT_TRUE(read_with(R"("warnings": [3, {}, {"code": "later"}, [], ""])").warnings.empty());
}

// Values by eye from the kept files.
TEST(StatementFileClosedForm, AnEdgeReportGivesBackItsNumbers) {
  const Statement report = read_statement(old_report("edge-ground"));
  EXPECT_EQ(report.view, "edge");
  EXPECT_EQ(report.stage, "ground");
  EXPECT_EQ(report.x_origin, "plunge_lines");
  EXPECT_EQ(report.verdict, "outside");
  EXPECT_EQ(find(report.quantities, "centreline_offset")->value.value, 0.05993);
  ASSERT_EQ(report.stations.size(), 7U);
  const StatedStation& station = report.stations[3];
  EXPECT_EQ(station.at_mm, 55.58314);
  EXPECT_EQ(station.px("", ""), Eigen::Vector2d(2124.601, 1524.339));
  EXPECT_EQ(find(station.quantities, "facet_width_right")->value.u, 0.01995);
  EXPECT_EQ(station.residual_px, 0.018);
  EXPECT_EQ(find(station.quantities, "centreline_offset")->budget.at(0).cause, "edge location");
  EXPECT_EQ(find(report.quantities, "centreline_offset_worst")->budget.at(4).cause,
            "broken corners");
  EXPECT_EQ(report.provenance.settings.number("thickness"), 3.4);
  ASSERT_EQ(report.provenance.photos.size(), 1U);
  EXPECT_EQ(report.provenance.photos[0].name, "sample-images/edge-ground-offcentre.jpg");
  EXPECT_EQ(report.provenance.photos[0].sha256.size(), 64U);
}

TEST(StatementFileClosedForm, ASideReportHasAPhotoAFaceAndItsTables) {
  const Statement report = read_statement(old_report("side"));
  ASSERT_EQ(report.provenance.photos.size(), 2U);
  EXPECT_EQ(report.provenance.photos[0].face, "left");
  EXPECT_EQ(report.stations.at(3).px("right", "spine"), Eigen::Vector2d(1516.831, 1316.361));
  std::vector<std::string> tables;
  for (const StatedTable& table : report.tables) tables.push_back(table.name);
  EXPECT_THAT(tables, ElementsAre("bevel_height_at", "plunges", "zones"));
  const StatedPlace& asked = report.tables[0].places.at(0);
  EXPECT_EQ(asked.at.number("distance"), 20.0);
  EXPECT_NE(find(asked.quantities, "bevel_height_left"), nullptr);
}

TEST(StatementFileClosedForm, AChoilReportHasItsDepths) {
  const Statement report = read_statement(old_report("choil"));
  EXPECT_EQ(report.along, "depth");
  EXPECT_EQ(report.stations.size(), 85U);
  const StatedQuantity* at = find(report.quantities, "thickness_at");
  ASSERT_NE(at, nullptr);
  EXPECT_TRUE(at->depth_mm);
  EXPECT_NE(find(at->beside, "half_left"), nullptr);
  EXPECT_EQ(report.more.part("axis").text("from"), "median line and card");
}

TEST(StatementFileClosedForm, AnglesAreStatedInDegrees) {
  const Stated angle = stated_angle({.value = 0.78539816339744831, .u = 0.017453292519943295});
  EXPECT_NEAR(angle.value, 45.0, 1e-12);
  EXPECT_NEAR(angle.u, 1.0, 1e-12);
  EXPECT_NEAR(angle.U95, 1.960, 0.0005);  // JCGM 100:2008, table G.2: t for infinite dof
}

// A view of later days: its own parts pass through without a line of code for them.
TEST(StatementFileProperty, PartsOfAnUnknownViewAreKept) {
  Statement statement{.view = "finish"};
  statement.more.add_part("lay", Facts().add_number("angle", 87.5, 1));
  statement.tables = {{"scratches",
                       {{.at = Facts().add_mm("x", 12.0),
                         .quantities = {{.id = "length", .value = {3.5, 0.1, 0.2}}}}}}};
  const std::string text = statement_json(statement);
  EXPECT_EQ(statement_json(read_statement(text)), text);
  EXPECT_EQ(read_statement(text).tables.at(0).places.at(0).quantities.at(0).value.value, 3.5);
}

TEST(StatementFileProperty, WhatIsDeclaredIsReadBack) {
  Statement statement{.view = "edge"};
  statement.glance = {.headline = {"OUTSIDE 0.050 mm", "OUTSIDE 0.0020 in"},
                      .title = "edge view",
                      .how_to_read = {"Plus is toward the left face."}};
  statement.declared = {{"facet_angle_left", "facet angle, left", QuantityKind::angle},
                        {"thickness_at_1", {"at 1 mm", "at 0.0394 in"}}};
  statement.columns = {{.kind = StationColumn::Kind::place, .what = "edge", .face = "left"},
                       {.what = "bow", .label = "bow", .number = QuantityKind::signed_length},
                       {.kind = StationColumn::Kind::residual}};
  statement.charts = {{.title = "Bow",
                       .name = "Bow along the blade",
                       .y_name = "bow",
                       .curves = {{"bow", "bow"}},
                       .zero = "straight",
                       .plus_down = true,
                       .judged = true,
                       .worst_at_mm = 12.5}};
  statement.tables = {{.name = "plunges", .title = "Plunge lines", .columns = {{"z", "height"}}}};
  statement.quantities = {
      {.id = "bow", .value = {0.1, 0.01, 0.02}, .note = {"at x = 10 mm", "at x = 0.39 in"}}};
  const Statement again = read_statement(statement_json(statement));
  EXPECT_EQ(statement_json(again), statement_json(statement));
  EXPECT_EQ(again.glance.headline, statement.glance.headline);
  EXPECT_EQ(again.glance.how_to_read, statement.glance.how_to_read);
  EXPECT_EQ(find(again.declared, "facet_angle_left")->kind, QuantityKind::angle);
  EXPECT_EQ(find(again.declared, "thickness_at_1")->label.in, "at 0.0394 in");
  ASSERT_EQ(again.columns.size(), 3U);
  EXPECT_EQ(again.columns[0].face, "left");
  EXPECT_EQ(again.columns[1].number, QuantityKind::signed_length);
  EXPECT_EQ(again.columns[2].kind, StationColumn::Kind::residual);
  ASSERT_EQ(again.charts.size(), 1U);
  EXPECT_TRUE(again.charts[0].plus_down && again.charts[0].judged);
  EXPECT_EQ(again.charts[0].worst_at_mm, 12.5);
  EXPECT_EQ(again.tables.at(0).columns.at(0).label, "height");
  EXPECT_EQ(again.quantities.at(0).note.in, "at x = 0.39 in");
  EXPECT_TRUE(again.quantities.at(0).more.empty());
}

TEST(StatementFileBadInput, WhatIsNoReportIsSaid) {
  EXPECT_THAT(text_refused(""), HasSubstr("not JSON"));
  EXPECT_THAT(text_refused("[1, 2]"), HasSubstr("not JSON"));
  EXPECT_THAT(text_refused("grind the left side"), HasSubstr("not JSON"));
  EXPECT_THAT(text_refused("{}"), HasSubstr("schema"));
  EXPECT_THAT(text_refused(R"({"schema": "else", "view": "edge"})"), HasSubstr("schema"));
  EXPECT_THAT(text_refused(R"({"schema": "evenbevel.report/1"})"), HasSubstr("view"));
  EXPECT_THAT(text_refused(R"({"schema": "evenbevel.report/1", "view": 3})"), HasSubstr("view"));
  const std::string whole = kept_report("side");
  EXPECT_THAT(text_refused(whole.substr(0, whole.size() / 2)), HasSubstr("cut short"));
}

TEST(StatementFileBadInput, ANewerReportIsNamedAsSuch) {
  EXPECT_THAT(text_refused(R"({"schema": "evenbevel.report/3", "view": "edge"})"),
              HasSubstr("newer evenbevel"));
}

TEST(StatementFileBadInput, AFileThatCannotBeReadIsNamed) {
  const test::ScratchFolder folder;
  const auto of_file = [&](const char* name) {
    return refused([&] { read_statement_file(folder / name); });
  };
  EXPECT_THAT(of_file("none.json"), AllOf(HasSubstr("none.json"), HasSubstr("cannot be opened")));
  EXPECT_THAT(of_file("."), HasSubstr("folder"));
  std::ofstream(folder / "cut.json") << R"({"schema": "evenb)";
  EXPECT_THAT(of_file("cut.json"), AllOf(HasSubstr("cut.json"), HasSubstr("cut short")));
}

// Neither the stack nor the time of the machine.
TEST(StatementFileBadInput, AHostileFileIsRefused) {
  EXPECT_THAT(text_refused(std::string(100'000, '[')), HasSubstr("nested"));
  std::string deep = "1";
  for (int i = 0; i < 100; ++i) deep = R"({"a": )" + deep + "}";
  EXPECT_THAT(text_refused(with("\"settings\": " + deep)), HasSubstr("nested"));
  std::string wide;
  for (int i = 0; i < 100'000; ++i) wide += "\"" + std::to_string(i) + "\": 1,";
  EXPECT_THAT(text_refused(with("\"settings\": {" + wide + "\"a\": 1}")), HasSubstr("members"));
}

TEST(StatementFileBadInput, PartsOfAnotherKindAreLeftOut) {
  for (const char* junk :
       {"3", "null", "true", "\"x\"", "[1, null, \"x\", [], {}]", "{\"a\": []}"}) {
    std::string members;
    for (const char* part :
         {"stage", "quantities", "stations", "budget", "advice", "warnings", "input", "camera",
          "settings", "plunges", "program", "glance", "declared"}) {
      members += (members.empty() ? "\"" : ", \"") + std::string(part) + "\": " + junk;
    }
    const Statement report = read_with(members);
    EXPECT_TRUE(report.quantities.empty()) << junk;
    EXPECT_TRUE(report.stations.empty()) << junk;
    EXPECT_TRUE(report.budget.empty()) << junk;
    EXPECT_TRUE(report.provenance.photos.empty()) << junk;
    const std::string again = statement_json(report);
    EXPECT_EQ(statement_json(read_statement(again)), again) << junk;
  }
}

// A number without its uncertainty is none.
TEST(StatementFileBadInput, AQuantityNeedsItsValueUAndU95) {
  const auto count = [](const std::string& quantity) {
    return read_with(R"("quantities": {"land_width": )" + quantity + "}").quantities.size();
  };
  EXPECT_EQ(count(R"({"value": 0.3, "u": 0.01, "U95": 0.02})"), 1U);
  for (const char* bad :
       {R"({"value": 0.3})", R"({"value": 0.3, "u": 0.01})",
        R"({"value": "0.3", "u": 1, "U95": 2})", R"({"value": 0.3, "u": -0.01, "U95": 0.02})",
        R"({"u": 0.01, "U95": 0.02})", "0.3", "[]", R"([{"value": 0.3, "u": 0.01, "U95": 0.02}])",
        "null"}) {
    EXPECT_EQ(count(bad), 0U) << bad;
  }
  EXPECT_THAT(text_refused(with(R"("quantities": {"land_width": {"value": 1e999}})")),
              HasSubstr("not JSON"))
      << "no double holds it";
}

TEST(StatementFileBadInput, AStationNeedsItsPlace) {
  const Statement report = read_with(
      R"("stations": [{"x": 1.0}, {"px": [1, 2]}, 3, {"x": "2"}, {"x": 4.0, "px": [1, "2"]}])");
  ASSERT_EQ(report.stations.size(), 2U);
  EXPECT_EQ(report.stations[1].at_mm, 4.0);
  EXPECT_FALSE(report.stations[1].px("", ""));
}

TEST(StatementFileBadInput, NamesThatAreNotUtf8DoNotStopTheReport) {
  Statement statement{.view = "edge"};
  statement.provenance.photos = {{.name = "blade\xff\xfe.jpg"}};
  EXPECT_EQ(read_statement(statement_json(statement)).provenance.photos.size(), 1U);
}

}  // namespace
}  // namespace evenbevel
