#include <algorithm>
#include <array>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "evenbevel/advice.hpp"
#include "fixture.hpp"
#include "report_checks.hpp"

namespace evenbevel {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

std::string page_of(const EdgeResult& result, const ReportSettings& settings,
                    const std::vector<uchar>& picture = {'M', 'a', 'n'}) {
  return statement_page(edge_statement(result, test::settings_of({}), test::photo_of({}),
                                       test::camera_of({}), settings),
                        {"The blade.", picture});
}

std::string page(Stage stage = Stage::ground) {
  return page_of(test::result_of({.stage = stage}),
                 {.tolerance_mm = 0.05, .command_line = "evenbevel edge 'a&b.jpg' -o <out>"});
}

std::size_t count(const std::string& text, const std::string& what) {
  std::size_t found = 0;
  for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + 1)) {
    ++found;
  }
  return found;
}

TEST(EdgeHtmlClosedForm, StandsAlone) {
  for (const char* outside :
       {"http:", "https:", "<script ", "<link", "@import", "url(", "<iframe", "fetch", "XMLHttp"}) {
    EXPECT_THAT(page(), Not(HasSubstr(outside)));
  }
  EXPECT_EQ(count(page(), "<script>"), 1U);  // its own
  EXPECT_EQ(count(page(), "src="), 1U);      // the picture, and that is data
  EXPECT_THAT(page(), HasSubstr("src=\"data:image/jpeg;base64,"));
  EXPECT_EQ(count(page(), "href="), 0U);
}

// One is shown, as the page's switch has it; a page with one picture alone says which it is.
TEST(EdgeHtmlClosedForm, ThePictureIsThereInBothUnits) {
  const auto both = [](LengthUnit unit) {
    return statement_page(edge_statement(test::result_of({}), test::settings_of({}),
                                         test::photo_of({}), test::camera_of({}), {.unit = unit}),
                          {"The blade.", {'M', 'a', 'n'}, {'n', 'a', 'M'}});
  };
  EXPECT_THAT(
      both(LengthUnit::mm),
      AllOf(HasSubstr("<img class=\"mm\" alt=\"The blade.\" src=\"data:image/jpeg;base64,TWFu"),
            HasSubstr("<img class=\"in\" alt=\"The blade.\" src=\"data:image/jpeg;base64,bmFN"),
            Not(HasSubstr("The picture is in"))));
  EXPECT_THAT(
      both(LengthUnit::thou),
      AllOf(HasSubstr("<img class=\"in\" alt=\"The blade.\" src=\"data:image/jpeg;base64,TWFu"),
            HasSubstr("<img class=\"mm\" alt=\"The blade.\" src=\"data:image/jpeg;base64,bmFN")));
  EXPECT_THAT(page(), HasSubstr("The picture is in mm."));
}

TEST(EdgeHtmlClosedForm, TextIsEscaped) {
  EXPECT_THAT(page(), AllOf(HasSubstr("blade &lt;one&gt; &amp; &quot;two&quot;.jpg"),
                            HasSubstr("&#39;a&amp;b.jpg&#39; -o &lt;out&gt;"),
                            Not(HasSubstr("<one>")), Not(HasSubstr("<out>"))));
  EdgeResult result = test::result_of({});
  result.warnings = {remark<RemarkCode::photo_left_out>("<img src=x onerror=alert(1)>")};
  EXPECT_THAT(page_of(result, {}), AllOf(Not(HasSubstr("<img src=x")), HasSubstr("&lt;img src=x")));
}

// RFC 4648, section 10: test vectors.
TEST(EdgeHtmlOutside, ThePictureIsBase64) {
  const auto embedded = [](const std::string& bytes) {
    const std::string text = page_of(test::result_of({}), {}, {bytes.begin(), bytes.end()});
    const std::size_t from = text.find("base64,") + 7;
    return text.substr(from, text.find('"', from) - from);
  };
  EXPECT_EQ(embedded("f"), "Zg==");
  EXPECT_EQ(embedded("fo"), "Zm8=");
  EXPECT_EQ(embedded("foo"), "Zm9v");
  EXPECT_EQ(embedded("foob"), "Zm9vYg==");
  EXPECT_EQ(embedded("fooba"), "Zm9vYmE=");
  EXPECT_EQ(embedded("foobar"), "Zm9vYmFy");
}

TEST(EdgeHtmlClosedForm, EveryTagIsClosed) {
  for (const Stage stage : {Stage::scribed, Stage::ground, Stage::bevelled}) {
    const std::string text = page(stage);
    for (const std::string tag :
         {"html", "head", "body", "main",   "header", "section", "table",   "tr",
          "td",   "th",   "ul",   "li",     "p",      "details", "summary", "svg",
          "text", "h2",   "h3",   "figure", "div",    "span",    "b",       "small"}) {
      const std::size_t opened = count(text, "<" + tag + ">") + count(text, "<" + tag + " ");
      EXPECT_EQ(opened, count(text, "</" + tag + ">")) << tag;
    }
  }
}

TEST(EdgeHtmlClosedForm, HoldsWhatTheDesignAsksFor) {
  EXPECT_THAT(page(), AllOf(HasSubstr("<svg"), HasSubstr("class=\"band one\""),
                            HasSubstr("Where the uncertainty comes from"), HasSubstr("parallax"),
                            HasSubstr("Cautions"), HasSubstr("running belt"),
                            HasSubstr("The photo is soft"), HasSubstr("<details")));
}

// One run before the unseen stations 20 to 23 and one behind them.
TEST(EdgeHtmlClosedForm, ThePlotLeavesAGapWhereNothingWasSeen) {
  EXPECT_EQ(count(page(), "<polyline"), 2U);
  EXPECT_EQ(count(page(), "class=\"unseen\""), 1U);
}

/// The number behind a name in a page's text.
double number_behind(const std::string& text, const std::string& name) {
  const std::size_t at = text.find(name);
  EXPECT_NE(at, std::string::npos) << name;
  return at == std::string::npos ? 0.0 : std::stod(text.substr(at + name.size()));
}

// The land stands 0.040 mm toward the left face, and that is below the middle: as in the picture,
// where the tip is at the right.
TEST(EdgeHtmlClosedForm, ThePlotGoesDownTowardTheLeftFaceAsThePictureDoes) {
  const std::string text = page();
  const double middle = number_behind(text, "<line class=\"middle\" x1=\"140.0\" y1=\"");
  const double offset = number_behind(text, "<polyline class=\"curve one\" points=\"140.0,");
  EXPECT_GT(offset, middle + 20.0);
  EXPECT_THAT(text, HasSubstr("down is toward the left face, mm"));
}

TEST(EdgeHtmlClosedForm, ThePictureStandsBeforeTheTables) {
  const std::string text = page();
  EXPECT_LT(text.find("<img "), text.find("<table"));
}

TEST(EdgeHtmlClosedForm, TheFirstAdviceIsSaidOnce) {
  const EdgeResult result = test::result_of({.stage = Stage::ground});
  const std::string first = sentence(edge_advice(result, {}, {}).front(), LengthUnit::mm);
  const std::string text = page_of(result, {});
  EXPECT_EQ(count(text, first.substr(0, first.find(' ', 30))), 1U) << first;
}

TEST(EdgeHtmlClosedForm, ToleranceLinesAreDrawnWhenThereIsOne) {
  EXPECT_EQ(count(page(), "<line class=\"tolerance\""), 2U);
  EXPECT_EQ(count(page_of(test::result_of({}), {}), "<line class=\"tolerance\""), 0U);
}

// WCAG 2.1: 1.4.3 asks for 4.5 for text, 1.4.11 for 3 for what a chart is drawn with.
std::array<double, 3> rgb(const std::string& hex) {
  const bool brief = hex.size() == 4;
  std::array<double, 3> parts{};
  for (std::size_t i = 0; i < 3; ++i) {
    const std::string digits = brief ? std::string(2, hex[1 + i]) : hex.substr(1 + 2 * i, 2);
    parts[i] = std::stoi(digits, nullptr, 16) / 255.0;
  }
  return parts;
}

double contrast(const std::string& a, const std::string& b) {
  return test::contrast(rgb(a), rgb(b));
}

TEST(EdgeHtmlOutside, TextAndChartsStandOutInBothSchemes) {
  ASSERT_NEAR(contrast("#fff", "#000000"), 21.0, 1e-9);  // WCAG 2.1: the largest there is
  const std::string style = page();
  const std::size_t dark = style.find("prefers-color-scheme: dark");
  for (const std::size_t from : {style.find(":root"), dark}) {
    const auto colour = [&](const std::string& name) {
      const std::size_t at = style.find("--" + name + ": ", from) + name.size() + 4;
      return style.substr(at, style.find(';', at) - at);
    };
    for (const char* ground : {"paper", "pale"}) {
      EXPECT_GE(contrast(colour("ink"), colour(ground)), 4.5) << ground;
      EXPECT_GE(contrast(colour("quiet"), colour(ground)), 4.5) << ground;
      for (const char* line : {"one", "two", "tolerance", "middle"}) {
        EXPECT_GE(contrast(colour(line), colour(ground)), 3.0) << line << ' ' << ground;
      }
    }
  }
  for (const char* header : {"#5c5c5c", "#0072b2", "#b84f00"}) {
    EXPECT_THAT(style, HasSubstr(std::string("background: ") + header));
    EXPECT_GE(contrast("#fff", header), 4.5) << header;
  }
  EXPECT_GE(contrast("#1a1a1a", "#e69f00"), 4.5);
}

TEST(EdgeHtmlClosedForm, EveryLengthStandsInBothUnits) {
  const std::string text = page();
  EXPECT_EQ(count(text, "class=\"mm\""), count(text, "class=\"in\""));
  // Thickness 3.302 mm, U95 0.012 mm.
  EXPECT_THAT(
      text, AllOf(HasSubstr("<span class=\"mm\">3.302 mm</span>"),
                  HasSubstr("<span class=\"in\">0.1300 in</span>"), HasSubstr("data-unit=\"mm\"")));
  EXPECT_THAT(page_of(test::result_of({}), {.unit = LengthUnit::inch}),
              HasSubstr("data-unit=\"in\""));
}

TEST(EdgeHtmlClosedForm, WhatIsSeenIsAlsoSaid) {
  const std::string text = page();
  EXPECT_EQ(count(text, "<img "), count(text, "<img alt=\""));
  EXPECT_EQ(count(text, "<svg "),
            count(text, "role=\"img\" aria-label=") + count(text,
                                                            "aria-hidden=\"true\">"
                                                            "<"));
  EXPECT_EQ(count(text, "<h1>"), 1U);
  EXPECT_EQ(count(text, "<th>"), 0U);  // each says of what it is the head
  EXPECT_THAT(text, AllOf(HasSubstr("<html lang=\"en\""), HasSubstr("type=\"range\""),
                          HasSubstr("<title>x 12.000 mm: offset +0.040 mm, U95 0.008 mm (x 0.4724 "
                                    "in: offset +0.0016 in, U95 0.0003 in)</title>")));
}

TEST(EdgeHtmlBadInput, AnEmptyResultIsStillAPage) {
  const std::string text = page_of(EdgeResult{}, {.tolerance_mm = 0.05});
  EXPECT_THAT(text, AllOf(HasSubstr("NOT RESOLVED"), HasSubstr("</html>"), Not(HasSubstr("nan"))));
}

}  // namespace
}  // namespace evenbevel
