#include "evenbevel/study_report.hpp"

#include <cmath>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace evenbevel {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

/// Three knives, two persons, two trials, lengths of some hundredths of a mm.
StudyReport made_up() {
  StudyReport report;
  report.quantity = "centreline_offset";
  for (int part = 0; part < 3; ++part) {
    for (int person = 0; person < 2; ++person) {
      for (int trial = 0; trial < 2; ++trial) {
        const double value = 0.02 * part + 0.003 * person + 0.001 * trial * (part - 1);
        report.readings.push_back({"knife <" + std::to_string(part) + ">",
                                   person == 0 ? "Ann" : "Bo & co", std::to_string(trial), value});
      }
    }
  }
  report.result = study(report.readings);
  return report;
}

std::size_t times_found(const std::string& text, const std::string& what) {
  std::size_t found = 0;
  for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + 1)) {
    ++found;
  }
  return found;
}

TEST(StudyReportClosedForm, PageStandsAloneAndIsEscaped) {
  const std::string page = study_html(made_up(), {.command_line = "evenbevel study '<x>'"});
  for (const char* outside : {"http:", "https:", "<link", "@import", "url(", "src="}) {
    EXPECT_THAT(page, Not(HasSubstr(outside)));
  }
  EXPECT_THAT(page, AllOf(HasSubstr("knife &lt;1&gt;"), Not(HasSubstr("knife <1>")),
                          HasSubstr("Bo &amp; co"), HasSubstr("&lt;x&gt;")));
}

TEST(StudyReportClosedForm, EveryTagIsClosed) {
  const std::string page = study_html(made_up(), {});
  for (const std::string tag : {"html", "body", "main", "header", "section", "table", "tr", "td",
                                "th", "ul", "li", "p", "details", "svg", "text", "g", "title"}) {
    EXPECT_EQ(times_found(page, "<" + tag + ">") + times_found(page, "<" + tag + " "),
              times_found(page, "</" + tag + ">"))
        << tag;
  }
}

// On paper the drawings stand beside the numbers.
TEST(StudyReportClosedForm, TheSheetHasNoPicture) {
  const std::string page = study_html(made_up(), {});
  EXPECT_THAT(page, HasSubstr("<div class=\"sheet bare\">\n<div class=\"numbers\">\n<ul>"));
}

TEST(StudyReportClosedForm, EveryReadingHasItsMark) {
  const std::string page = study_html(made_up(), {});
  // One more of each in the key.
  EXPECT_EQ(times_found(page, "<circle class=\"mark one\""), 7U);
  EXPECT_EQ(times_found(page, "<polygon class=\"mark two\""), 7U);
}

// The readings' own limits: knife <2> by Bo & co, 0.0430 to 0.0440.
TEST(StudyReportClosedForm, TheTableHasEveryReadingInBothUnits) {
  const std::string page = study_html(made_up(), {});
  EXPECT_THAT(page, AllOf(HasSubstr("<span class=\"mm\">0.0440 mm</span>"),
                          HasSubstr("<span class=\"in\">0.00173 in</span>")));
}

TEST(StudyReportClosedForm, TerminalLinesAreShort) {
  StudyReport report = made_up();
  report.tolerance = 0.025;
  report.result = study(report.readings, {.tolerance_width = 0.05});
  for (const LengthUnit unit : {LengthUnit::mm, LengthUnit::inch}) {
    const std::string text = study_text(report, {.unit = unit});
    EXPECT_THAT(text, AllOf(HasSubstr("repeatability"), HasSubstr("of the tolerance")));
    std::size_t begin = 0;
    for (std::size_t end = text.find('\n'); end != std::string::npos;
         begin = end + 1, end = text.find('\n', begin)) {
      EXPECT_LE(end - begin, 100U) << text.substr(begin, end - begin);
    }
  }
}

TEST(StudyReportClosedForm, GradesByTheShareOfTheTolerance) {
  StudyReport report = made_up();
  const double spread = report.result->variance.spreads.set_up.sigma;
  const auto grade = [&](double share) {
    report.result = study(report.readings, {.tolerance_width = 6.0 * spread / share});
    return study_grade(report);
  };
  EXPECT_EQ(grade(0.09), StudyGrade::good);
  EXPECT_EQ(grade(0.11), StudyGrade::with_care);
  EXPECT_EQ(grade(0.29), StudyGrade::with_care);
  EXPECT_EQ(grade(0.31), StudyGrade::not_good_enough);
}

TEST(StudyReportBadInput, AlikeReadingsStillMakeAPage) {
  StudyReport report;
  report.readings = {
      {"a", "", "1", 1.0}, {"a", "", "2", 1.0}, {"b", "", "1", 1.0}, {"b", "", "2", 1.0}};
  report.result = study(report.readings);
  const std::string page = study_html(report, {});
  EXPECT_THAT(page, AllOf(HasSubstr("All readings are alike"), HasSubstr("</html>"),
                          Not(HasSubstr("nan")), Not(HasSubstr("inf"))));
  EXPECT_THAT(study_json(report, {}), Not(HasSubstr("null")));
}

}  // namespace
}  // namespace evenbevel
