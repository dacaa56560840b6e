// Any statement makes a page: of a view, read back from report.json, or of a view not known here.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "choil_fixture.hpp"
#include "fixture.hpp"
#include "report_checks.hpp"
#include "side_fixture.hpp"

namespace evenbevel {
namespace {

using test::count_of;
using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

ReportSettings settings_in(LengthUnit unit) {
  return {.unit = unit, .tolerance_mm = 0.05, .command_line = "evenbevel"};
}

Statement edge_statement_in(LengthUnit unit) {
  const test::DrawnBlade blade{.stage = Stage::ground};
  EdgeResult result = test::result_of(blade);
  result.stations.front().x_mm = 1.0 / 3.0;  // more digits than report.json has
  result.photos = {{.photo = "a.jpg"}, {.photo = "b.jpg", .turned = true}};
  return edge_statement(result, test::settings_of(blade), test::photo_of(blade),
                        test::camera_of(blade), settings_in(unit));
}

Statement side_statement_in(LengthUnit unit) {
  const test::DrawnFaces blade{};
  const test::FacePhotos photos(blade);
  SideResult result = test::result_of(blade);
  result.bevel_at = {{.asked = {.distance_mm = 15.0, .from_tip = true},
                      .x_mm = 85.0,
                      .left_mm = Measured{18.0, 0.05},
                      .right_mm = {},
                      .difference_mm = {}}};
  return side_statement(result, test::side_settings(), photos.given(), settings_in(unit));
}

Statement choil_statement_in(LengthUnit unit) {
  const test::DrawnSection section{};
  return choil_statement(test::result_of(section), {}, test::photo_of(section),
                         test::choil_camera(), settings_in(unit));
}

std::vector<Statement> statements_in(LengthUnit unit) {
  return {edge_statement_in(unit), side_statement_in(unit), choil_statement_in(unit)};
}

std::string page_of(const Statement& statement) {
  return statement_page(statement, {"The blade.", {'M', 'a', 'n'}});
}

TEST(StatementPageProperty, AReportReadBackMakesTheSamePage) {
  for (const LengthUnit unit : {LengthUnit::mm, LengthUnit::inch}) {
    for (const Statement& statement : statements_in(unit)) {
      const std::string page = page_of(statement);
      ASSERT_THAT(page, AllOf(HasSubstr("class=\"chart\""), HasSubstr("class=\"summary\""),
                              HasSubstr("class=\"budget\""), HasSubstr("class=\"stations")));
      EXPECT_EQ(page_of(read_statement(statement_json(statement))), page) << statement.view;
    }
  }
}

// Thickness 3.302 mm and 0.13 in by the fixture; the photos' names by the table of them.
TEST(StatementPageClosedForm, WhatIsStatedIsOnThePage) {
  EXPECT_THAT(page_of(edge_statement_in(LengthUnit::mm)),
              AllOf(HasSubstr("a.jpg, b.jpg (turned)"), HasSubstr("<span class=\"mm\">3.302 mm"),
                    HasSubstr("<span class=\"in\">0.1300 in"), HasSubstr("toward the left face")));
  EXPECT_THAT(page_of(side_statement_in(LengthUnit::mm)),
              AllOf(HasSubstr("Bevel height where it was asked for"), HasSubstr("Plunge lines"),
                    HasSubstr("card, right face")));
  EXPECT_THAT(page_of(choil_statement_in(LengthUnit::mm)),
              AllOf(HasSubstr("<th scope=\"col\">left half</th>"), HasSubstr("a 250 mm wheel")));
}

TEST(StatementPageProperty, AViewThatIsNotKnownHereHasAPageToo) {
  Statement statement{.view = "finish", .verdict = "within"};
  statement.glance = {.headline = "SMOOTH", .title = "finish view"};
  statement.declared = {{"lay", "lay of the scratches", QuantityKind::angle}};
  statement.quantities = {{.id = "lay", .value = {87.5, 0.5, 1.0}, .note = "across the blade"}};
  statement.columns = {{.what = "scratches", .label = "longest"}};
  statement.charts = {{.title = "Scratches",
                       .name = "Scratches along the blade",
                       .y_name = "longest scratch",
                       .curves = {{"scratches", "longest"}}}};
  for (const double x_mm : {1.0, 2.0}) {
    statement.stations.push_back(
        {.at_mm = x_mm, .quantities = {{.id = "scratches", .value = {3.0 * x_mm, 0.1, 0.2}}}});
  }
  statement.tables = {{.name = "zones",
                       .places = {{.at = Facts().add_mm("from", 12.5)}},
                       .title = "Where to sand",
                       .columns = {{"from", "from x"}}}};
  const std::string page = page_of(statement);
  EXPECT_THAT(page, AllOf(HasSubstr("<header class=\"within\">"), HasSubstr("SMOOTH"),
                          HasSubstr("lay of the scratches"), HasSubstr("87.5 deg"),
                          HasSubstr("across the blade"), HasSubstr("Where to sand"),
                          HasSubstr("12.500"), HasSubstr("2 stations")));
  EXPECT_EQ(count_of(page, "class=\"chart\""), 1U);
  EXPECT_EQ(page_of(read_statement(statement_json(statement))), page);
}

TEST(StatementPageClosedForm, ABudgetsLinesAreInItsQuantitysUnit) {
  Statement statement{.view = "finish"};
  statement.declared = {{"scratches", "scratches a cm2", QuantityKind::per_area},
                        {"land", "land", QuantityKind::length}};
  statement.quantities = {
      {.id = "scratches", .value = {2.0, 0.5, 1.0}, .budget = {{"chance", 0.5}}},
      {.id = "land", .value = {0.3, 0.01, 0.02}, .budget = {{"light", 0.01}}}};
  EXPECT_THAT(page_of(statement),
              AllOf(HasSubstr("chance</th><td>0.50 /cm2<"),
                    HasSubstr("light</th><td><span class=\"mm\">0.010 mm</span>")));
}

// A report of an earlier version declares nothing: its numbers stand there by their names.
TEST(StatementPageBadInput, WhatDeclaresNothingIsStillAPage) {
  Statement statement = edge_statement_in(LengthUnit::mm);
  statement.glance = {};
  statement.declared.clear();
  statement.columns.clear();
  statement.charts.clear();
  EXPECT_THAT(page_of(statement), AllOf(HasSubstr("centreline offset worst"), HasSubstr("outside"),
                                        HasSubstr("Edge view."), Not(HasSubstr("nan"))));
  EXPECT_THAT(page_of(Statement{}), AllOf(HasSubstr("Nothing was measured"), HasSubstr("</html>")));
}

}  // namespace
}  // namespace evenbevel
