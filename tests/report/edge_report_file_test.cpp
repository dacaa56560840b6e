#include "evenbevel/edge_report_file.hpp"

#include <fstream>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "evenbevel/error.hpp"
#include "fixture.hpp"
#include "scratch_folder.hpp"

namespace evenbevel {
namespace {

std::string edge_report(Stage stage) {
  const test::DrawnBlade blade{.stage = stage};
  return statement_json(edge_statement(test::result_of(blade), test::settings_of(blade),
                                       test::photo_of(blade), test::camera_of(blade),
                                       {.unit = LengthUnit::inch}));
}

class EdgeReportFile : public testing::Test {
 protected:
  std::filesystem::path file(const std::string& text) const {
    std::ofstream(folder_ / "report.json", std::ios::binary) << text;
    return folder_ / "report.json";
  }
  /// The error's message; fails when there is none.
  std::string refused(const std::filesystem::path& path) const {
    try {
      read_edge_report(path);
    } catch (const Error& error) {
      EXPECT_FALSE(error.do_next().empty());
      return error.what();
    }
    ADD_FAILURE() << "no Error";
    return "";
  }
  test::ScratchFolder folder_;
};

using EdgeReportFileClosedForm = EdgeReportFile;
using EdgeReportFileBadInput = EdgeReportFile;

TEST_F(EdgeReportFileClosedForm, GivesBackWhatTheEdgeViewSaid) {
  const EdgeReportValues values = read_edge_report(file(edge_report(Stage::bevelled)));
  EXPECT_DOUBLE_EQ(values.thickness_mm, 3.302);
  EXPECT_DOUBLE_EQ(values.land_width_mm.value, 0.262);
  EXPECT_DOUBLE_EQ(values.land_width_mm.u, 0.005);
  ASSERT_TRUE(values.centreline_offset_mm);
  EXPECT_NEAR(values.centreline_offset_mm->value, 0.04, 1e-5);
}

TEST_F(EdgeReportFileBadInput, WhatIsNoEdgeReportIsSaid) {
  using testing::HasSubstr;
  const std::string whole = edge_report(Stage::ground);
  EXPECT_THAT(refused(folder_ / "none.json"), HasSubstr("cannot be opened"));
  EXPECT_THAT(refused(file("")), HasSubstr("not JSON"));
  EXPECT_THAT(refused(file(whole.substr(0, whole.size() / 2))), HasSubstr("cut short"));
  EXPECT_THAT(refused(file("[1, 2]")), HasSubstr("not JSON"));
  EXPECT_THAT(refused(file("{}")), HasSubstr("schema"));
  EXPECT_THAT(refused(file(R"({"schema": "evenbevel.report/1", "view": "side"})")),
              HasSubstr("\"side\""));
  EXPECT_THAT(refused(file(R"({"schema": "evenbevel.report/1", "view": "edge"})")),
              HasSubstr("stock thickness"));
  EXPECT_THAT(refused(file(edge_report(Stage::scribed))), HasSubstr("no land width"));
}

}  // namespace
}  // namespace evenbevel
