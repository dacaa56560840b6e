#include <array>

#include <Eigen/Core>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "evenbevel/error.hpp"
#include "evenbevel/latest_page.hpp"
#include "evenbevel/photo.hpp"
#include "evenbevel/record_page.hpp"
#include "knife_maker.hpp"
#include "record/preview.hpp"
#include "record/stage_chart.hpp"
#include "run_program.hpp"
#include "scratch_folder.hpp"

namespace evenbevel {
namespace {

namespace fs = std::filesystem;
using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

std::size_t count(const std::string& text, const std::string& what) {
  std::size_t found = 0;
  for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + 1)) {
    ++found;
  }
  return found;
}

/// A blade from (100, 300) to (500, 100) px, x from 0 to 50 mm: dark on the side of the left face
/// (below the edge in the picture), bright on the other.
const Eigen::Vector2d kFrom_px{100.0, 300.0}, kTo_px{500.0, 100.0};
constexpr double kLength_mm = 50.0;

std::string blade_jpeg(int stage) {
  cv::Mat pixels(400, 600, CV_8UC3, cv::Scalar::all(220 - stage));
  // Far beyond both ends, then down to the bottom.
  const std::array<cv::Point, 4> left_face{cv::Point(-300, 500), cv::Point(900, -100),
                                           cv::Point(900, 1200), cv::Point(-300, 1200)};
  cv::fillConvexPoly(pixels, left_face, cv::Scalar::all(30 + stage));
  const std::vector<uchar> jpeg = encode_jpeg(pixels, 90);
  return {jpeg.begin(), jpeg.end()};
}

NewEntry stage_of_blade(const test::Shop& shop, const std::string& knife, const std::string& stage,
                        int number) {
  const std::string name = knife + " " + std::to_string(number) + ".jpg";
  shop.photo(name, blade_jpeg(number));
  nlohmann::ordered_json json = nlohmann::ordered_json::parse(
      shop.report(name, {.offset = {0.05 - 0.01 * number, 0.003, 0.006},
                         .width = {0.4 - 0.02 * number, 0.008, 0.016},
                         .stations = static_cast<int>(kLength_mm) + 1}));
  for (auto& station : json["stations"]) {
    const double share = station["x"].get<double>() / kLength_mm;
    const Eigen::Vector2d px = kFrom_px + share * (kTo_px - kFrom_px);
    station["px"] = {px.x(), px.y()};
  }
  return {.knife = knife,
          .stage = stage,
          .note = "note <" + std::to_string(number) + ">",
          .report_json = json.dump(),
          .added = test::kWhen};
}

test::Shop& shop_of_three_stages() {
  static test::Shop shop;
  static const bool filled = [] {
    int number = 0;
    for (const char* stage : {"60 grit", "120 grit & 'oil'", "400 grit"}) {
      shop.record().add(stage_of_blade(shop, "paring <3>", stage, number++));
    }
    return true;
  }();
  (void)filled;
  return shop;
}

std::string page() {
  Record record = shop_of_three_stages().record();
  return knife_html(record, "paring <3>", LengthUnit::mm);
}

TEST(KnifePageClosedForm, StandsAlone) {
  const std::string html = page();
  for (const char* outside : {"http:", "https:", "<link", "@import", "url(", "<iframe", "href="}) {
    EXPECT_THAT(html, Not(HasSubstr(outside)));
  }
  EXPECT_EQ(count(html, " src=\""), 3U);  // a picture a stage
  EXPECT_EQ(count(html, " src=\"data:image/jpeg;base64,"), 3U);
  EXPECT_EQ(count(html, "'sha256-"), 2U) << "a script that the page's policy does not know";
}

TEST(KnifePageClosedForm, EveryTagIsClosed) {
  const std::string html = page();
  for (const std::string tag :
       {"html",   "head",   "body",  "main",   "header", "section",    "table",   "tr",
        "td",     "th",     "ul",    "li",     "p",      "details",    "summary", "svg",
        "text",   "h1",     "h2",    "h3",     "figure", "figcaption", "div",     "span",
        "select", "option", "label", "script", "style",  "title",      "rect"}) {
    const std::size_t opened = count(html, "<" + tag + ">") + count(html, "<" + tag + " ");
    const std::size_t alone = tag == "rect" ? count(html, "/>") : 0;
    EXPECT_LE(opened - std::min(opened, count(html, "</" + tag + ">")), alone) << tag;
    EXPECT_LE(count(html, "</" + tag + ">"), opened) << tag;
  }
}

TEST(KnifePageClosedForm, HoldsStagesChartsSteelAndNotes) {
  EXPECT_THAT(page(),
              AllOf(HasSubstr("paring &lt;3&gt;"), HasSubstr("120 grit &amp; &#39;oil&#39;"),
                    HasSubstr("note &lt;2&gt;"), Not(HasSubstr("<3>")), Not(HasSubstr("note <")),
                    HasSubstr("Centreline offset from stage to stage"),
                    HasSubstr("class=\"band one\""), HasSubstr("taken off the edge, left face")));
  // Half-lands 0.200 + 0.050 and 0.190 + 0.040: 0.020 off the left face, by hand.
  EXPECT_THAT(page(), HasSubstr("+0.020 mm"));
  EXPECT_THAT(page(), Not(HasSubstr("nan")));
}

double number_behind(const std::string& text, std::size_t from, const std::string& name) {
  const std::size_t at = text.find(name, from);
  EXPECT_NE(at, std::string::npos) << name;
  return at == std::string::npos ? 0.0 : std::stod(text.substr(at + name.size()));
}

// Every stage's land stands toward the left face, which is below: as in the pictures of the stages.
TEST(KnifePageClosedForm, TheOffsetsChartGoesDownTowardTheLeftFace) {
  const std::string html = page();
  const std::size_t chart = html.find("aria-label=\"Centreline offset from stage to stage");
  ASSERT_NE(chart, std::string::npos);
  const std::size_t dot = html.find("<circle class=\"dot one\"", chart);
  const double middle = number_behind(html, chart, "<line class=\"middle\" x1=\"140.0\" y1=\"");
  EXPECT_GT(number_behind(html, dot, "cy=\""), middle + 20.0);
  EXPECT_THAT(html, HasSubstr("offset, down is toward the left face, mm"));
}

/// A chart of three stages, as narrow as two words each.
std::string chart_of_stages(const std::vector<std::string>& stages) {
  StageChart chart{.name = "made up", .curves = {{"mean", "mean"}}, .around_zero = true};
  for (const std::string& stage : stages) {
    chart.slots.push_back(
        {.label = stage, .values = {RecordedValue{"centreline_offset", 0.0, 0.1, 0.01, 0.02}}});
  }
  return stage_chart_html(chart);
}

// 740 of the drawing's units for five stages: some eight letters each.
TEST(KnifePageClosedForm, AStagesNameMayTakeTwoLines) {
  const std::string html =
      chart_of_stages({"scribed", "edge ground", "60 grit", "120 grit", "heat treatment done"});
  EXPECT_THAT(html, AllOf(HasSubstr(">edge</text>"), HasSubstr(">ground</text>"),
                          HasSubstr(">60 grit</text>"), HasSubstr(">scribed</text>")));
  EXPECT_THAT(html, AllOf(HasSubstr(">heat</text>"), HasSubstr("\u2026</text>")));
  EXPECT_THAT(html, HasSubstr(">+0.1</text>"));
}

TEST(LatestPageClosedForm, TheResultComesFirstAndRefusalsAreSentences) {
  const test::ScratchFolder folder;
  const fs::path file = folder.path() / "latest.html";
  write_latest_page(file,
                    {{.time = "17:21:05",
                      .photo = "<a>.jpg",
                      .why = "the photo is blurred",
                      .do_next = "hold the phone steady"}},
                    "", LengthUnit::mm);
  const std::string html = test::file_text(file);
  EXPECT_THAT(html,
              AllOf(HasSubstr("The photo is blurred.</p>"), HasSubstr("Hold the phone steady.</p>"),
                    HasSubstr("<th scope=\"col\">result</th><th scope=\"col\">photo</th></tr>"),
                    HasSubstr("<td>&lt;a&gt;.jpg<br><small>17:21:05</small></td>")));
}

// A symmetry zone of 0.02 mm with U95 0.05 mm: no zone is narrower than nothing.
TEST(KnifePageClosedForm, TheBandOfWhatIsNeverBelowZeroEndsThere) {
  const StageChart chart{
      .name = "Symmetry zone",
      .y_name = "symmetry zone",
      .curves = {"symmetry zone"},
      .slots = {{"60 grit", {RecordedValue{"symmetry", 0.0, 0.02, 0.025, 0.05}}},
                {"120 grit", {RecordedValue{"symmetry", 0.0, 0.3, 0.01, 0.02}}}}};
  const std::string html = stage_chart_html(chart);
  EXPECT_THAT(html, AllOf(HasSubstr(">0.0</text>"), Not(HasSubstr(">-0"))));
  EXPECT_THAT(html, HasSubstr("60 grit: symmetry zone 0.020 mm, U95 0.050 mm"));
}

// What is counted over an area is no length: neither its axis nor what is said has one.
TEST(KnifePageClosedForm, ScratchesAreChartedOverAnArea) {
  const StageChart chart{
      .name = "Scratches left",
      .y_name = "scratches",
      .curves = {"left face"},
      .slots = {{"120 grit", {RecordedValue{"scratches_left", 0.0, 0.51, 0.26, 0.52}}},
                {"220 grit", {RecordedValue{"scratches_left", 0.0, 0.08, 0.05, 0.1}}}},
      .unit = "a cm2"};
  const std::string html = stage_chart_html(chart);
  EXPECT_THAT(html, AllOf(HasSubstr("scratches, a cm2"), Not(HasSubstr("class=\"mm\"")),
                          HasSubstr("120 grit: left face 0.51 /cm2, U95 0.52 /cm2")));
}

nlohmann::ordered_json stated(double value, double U) {
  return {{"value", value}, {"u", 0.5 * U}, {"U95", U}};
}

NewEntry entry_of(const test::Shop& shop, const std::string& view, const std::string& stage,
                  const nlohmann::ordered_json& input, const nlohmann::ordered_json& quantities) {
  const nlohmann::ordered_json json = {
      {"schema", "evenbevel.report/1"}, {"view", view},  {"verdict", "none"}, {"input", input},
      {"quantities", quantities},       {"stations", {}}};
  return {.knife = "paring 3",
          .stage = stage,
          .report_json = json.dump(),
          .photos = {shop.photos_folder()},
          .added = test::kWhen};
}

void add_side_and_choil(const test::Shop& shop, const std::string& stage, int number) {
  const auto photo = [&](const std::string& name) -> nlohmann::ordered_json {
    const std::string file = name + std::to_string(number) + ".jpg";
    return {{"photo", shop.photo(file, blade_jpeg(number)).string()}};
  };
  Record record = shop.record();
  record.add(entry_of(shop, "side", stage, {{"left", photo("left")}, {"right", photo("right")}},
                      {{"bevel_height_left", stated(12.0 + number, 0.2)},
                       {"bevel_height_right", stated(11.5 + number, 0.2)},
                       {"plunge_mismatch", stated(0.4, 0.3)}}));
  nlohmann::ordered_json thickness = stated(0.6 - 0.1 * number, 0.02);
  thickness["depth"] = 5.0;
  record.add(entry_of(shop, "choil", stage, photo("choil"),
                      {{"thickness_at", {thickness}},
                       {"angle_left", stated(4.5, 0.3)},
                       {"angle_right", stated(4.25, 0.3)}}));
}

TEST(KnifePageClosedForm, FacesAndSectionHaveTheirPicturesAndCharts) {
  const test::Shop shop;
  add_side_and_choil(shop, "60 grit", 0);
  add_side_and_choil(shop, "120 grit", 1);
  Record record = shop.record();
  const std::string html = knife_html(record, "paring 3", LengthUnit::mm);
  EXPECT_EQ(count(html, " src=\"data:image/jpeg;base64,"), 6U);  // three photos a stage
  EXPECT_THAT(html, AllOf(HasSubstr("side view, left face"), HasSubstr("side view, right face"),
                          HasSubstr("Bevel height from stage to stage"),
                          HasSubstr("Plunge mismatch on the faces from stage to stage"),
                          HasSubstr("Thickness behind the edge from stage to stage"),
                          HasSubstr("Angle of each side from stage to stage"),
                          Not(HasSubstr("Centreline offset from stage to stage"))));
  EXPECT_THAT(html,
              AllOf(HasSubstr("60 grit: left face 12.00 mm, U95 0.20 mm; right face 11.50 mm"),
                    HasSubstr("60 grit: left side 4.50 deg, U95 0.30 deg"),
                    HasSubstr("120 grit: 5 mm behind it 0.500 mm, U95 0.020 mm"),
                    HasSubstr("120 grit: 0.1969 in behind it")));
  EXPECT_THAT(html, AllOf(HasSubstr("bevel line gone up, left face"), HasSubstr("+1.00 mm"),
                          Not(HasSubstr("10 mm behind it"))))
      << "a depth that no entry has";
}

TEST(KnifePageClosedForm, InchesAreThereToo) {
  Record record = shop_of_three_stages().record();
  EXPECT_THAT(knife_html(record, "paring <3>", LengthUnit::inch),
              AllOf(HasSubstr("data-unit=\"in\""), HasSubstr("+0.0008 in")));
}

TEST(KnifePageBadInput, AKnifeWithoutReadablePhotosIsStillAPage) {
  const test::Shop shop;
  shop.record().add(shop.entry("paring 3", "60 grit", "a"));  // its photo is no picture
  Record record = shop.record();
  EXPECT_THAT(
      knife_html(record, "paring 3", LengthUnit::mm),
      AllOf(HasSubstr("60 grit"), HasSubstr("</html>"), Not(HasSubstr("<img alt=\"paring"))));
  EXPECT_THROW(knife_html(record, "none", LengthUnit::mm), Error);
}

// The upper half of the straightened picture is the bright side, the lower one the left face.
TEST(KnifePictureClosedForm, TheEdgeLiesLevelInTheMiddle) {
  Record record = shop_of_three_stages().record();
  const RecordEntry entry = record.knife("paring <3>").entries.front();
  const std::optional<Preview> made = preview(record, entry, 0);
  ASSERT_TRUE(made);
  EXPECT_THAT(made->words, HasSubstr("tip to the right"));
  EXPECT_EQ(made->from_mm, 0.0);
  EXPECT_EQ(made->to_mm, kLength_mm);
  const fs::path file = shop_of_three_stages() / "strip.jpg";
  test::write_file(file, made->jpeg);
  cv::Mat grey = grey8(read_photo(file).pixels);
  if (grey.channels() == 3) cv::cvtColor(grey, grey, cv::COLOR_BGR2GRAY);
  EXPECT_NEAR(static_cast<double>(grey.cols) / grey.rows, made->ratio, 1e-6);
  const int middle = grey.rows / 2;
  for (int u = 10; u < grey.cols - 10; u += 20) {
    EXPECT_GT(grey.at<uchar>(middle - 15, u), 180) << u;
    EXPECT_LT(grey.at<uchar>(middle + 15, u), 70) << u;
  }
}

TEST(KnifePictureClosedForm, ItIsMadeAnewWhenItIsGone) {
  Record record = shop_of_three_stages().record();
  const RecordEntry entry = record.knife("paring <3>").entries.back();
  const std::string first = preview(record, entry, 0)->jpeg;
  fs::remove_all(record_photos(record.file()) / "previews");
  EXPECT_EQ(preview(record, entry, 0)->jpeg, first);
}

bool has_chromium() { return test::run_program("command -v chromium").exit_code == 0; }

// In a browser: the two pictures lie over each other, the border in the middle.
TEST(KnifePageOutside, TheSliderWorksInChromium) {
  if (!has_chromium()) GTEST_SKIP() << "no chromium here";
  const fs::path file = shop_of_three_stages() / "knife.html";
  write_page(file, page());
  const test::ProgramRun run = test::run_program(
      "HOME=" + (shop_of_three_stages() / "home").string() +
      " timeout 60 chromium --headless --no-sandbox --disable-gpu --disable-dev-shm-usage "
      "--virtual-time-budget=2000 --dump-dom 'file://" +
      file.string() + "' 2>&1 | sed 's/base64,[^\"]*/base64,/g'");
  ASSERT_EQ(run.exit_code, 0) << run.output;
  EXPECT_THAT(run.output, AllOf(HasSubstr("class=\"js\""), HasSubstr("left: 50%"),
                                HasSubstr("clip-path: inset(0px 0px 0px 50%)"),
                                HasSubstr("aria-valuetext=\"50 % 60 grit, the rest 400 grit\""),
                                HasSubstr("aspect-ratio")));
  EXPECT_EQ(count(run.output, "src=\"data:image/jpeg;base64,\""), 5U) << "three stages, two above";
  EXPECT_THAT(run.output, Not(HasSubstr("Refused to")));
}

}  // namespace
}  // namespace evenbevel
