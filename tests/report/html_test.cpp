#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "fixture.hpp"

namespace evenbevel {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

std::string page_of(const EdgeResult& result, const ReportSettings& settings,
                    const std::vector<uchar>& picture = {'M', 'a', 'n'}) {
  return edge_html(result, test::settings_of({}), test::photo_of({}), test::camera_of({}), settings,
                   picture);
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

TEST(HtmlClosedForm, StandsAlone) {
  for (const char* outside :
       {"http:", "https:", "<script ", "<link", "@import", "url(", "<iframe", "fetch", "XMLHttp"}) {
    EXPECT_THAT(page(), Not(HasSubstr(outside)));
  }
  EXPECT_EQ(count(page(), "<script>"), 1U);  // its own
  EXPECT_EQ(count(page(), "src="), 1U);      // the picture, and that is data
  EXPECT_THAT(page(), HasSubstr("src=\"data:image/jpeg;base64,"));
  EXPECT_EQ(count(page(), "href="), 0U);
}

TEST(HtmlClosedForm, TextIsEscaped) {
  EXPECT_THAT(page(), AllOf(HasSubstr("blade &lt;one&gt; &amp; &quot;two&quot;.jpg"),
                            HasSubstr("&#39;a&amp;b.jpg&#39; -o &lt;out&gt;"),
                            Not(HasSubstr("<one>")), Not(HasSubstr("<out>"))));
  EdgeResult result = test::result_of({});
  result.warnings = {"<img src=x onerror=alert(1)>"};
  EXPECT_THAT(page_of(result, {}), AllOf(Not(HasSubstr("<img src=x")), HasSubstr("&lt;img src=x")));
}

// RFC 4648, section 10: test vectors.
TEST(HtmlOutside, ThePictureIsBase64) {
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

TEST(HtmlClosedForm, EveryTagIsClosed) {
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

TEST(HtmlClosedForm, HoldsWhatTheDesignAsksFor) {
  EXPECT_THAT(page(), AllOf(HasSubstr("<svg"), HasSubstr("class=\"band one\""),
                            HasSubstr("Where the uncertainty comes from"), HasSubstr("parallax"),
                            HasSubstr("Cautions"), HasSubstr("running belt"),
                            HasSubstr("The photo is a little soft"), HasSubstr("<details")));
}

// One run before the unseen stations 20 to 23 and one behind them.
TEST(HtmlClosedForm, ThePlotLeavesAGapWhereNothingWasSeen) {
  EXPECT_EQ(count(page(), "<polyline"), 2U);
  EXPECT_EQ(count(page(), "class=\"unseen\""), 1U);
}

TEST(HtmlClosedForm, ToleranceLinesAreDrawnWhenThereIsOne) {
  EXPECT_EQ(count(page(), "<line class=\"tolerance\""), 2U);
  EXPECT_EQ(count(page_of(test::result_of({}), {}), "<line class=\"tolerance\""), 0U);
}

TEST(HtmlBadInput, AnEmptyResultIsStillAPage) {
  const std::string text = page_of(EdgeResult{}, {.tolerance_mm = 0.05});
  EXPECT_THAT(text, AllOf(HasSubstr("NOT RESOLVED"), HasSubstr("</html>"), Not(HasSubstr("nan"))));
}

}  // namespace
}  // namespace evenbevel
