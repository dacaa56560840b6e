// The bench page in a real browser at a phone's width, where Chromium is installed. With
// EVENBEVEL_SCREENSHOTS=FOLDER it leaves what it saw there, to be looked at.

#include <cstdlib>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "browser.hpp"
#include "frame_files.hpp"
#include "running_bench.hpp"

namespace evenbevel {
namespace {

using test::Browser;
using test::RunningBench;
using testing::HasSubstr;

std::filesystem::path sample_file(const std::string& name) {
  return std::filesystem::path(SOURCE_FOLDER) / "sample-images" / name;
}

class BenchPageInBrowser : public testing::Test {
 protected:
  void SetUp() override {
    if (!Browser::installed()) GTEST_SKIP() << "chromium is not installed";
  }

  static std::string headline(Browser& browser) {
    return browser.evaluate("document.getElementById('headline').textContent");
  }
  static void look(Browser& browser, const std::string& name) {
    const char* folder = std::getenv("EVENBEVEL_SCREENSHOTS");
    if (folder != nullptr) browser.take_screenshot(std::filesystem::path(folder) / (name + ".png"));
  }
  /// Types into a field and leaves it, as a thumb does.
  static void type(Browser& browser, const std::string& id, const std::string& text) {
    browser.evaluate("(function () { var field = document.getElementById('" + id +
                     "'); field.value = '" + text +
                     "'; field.dispatchEvent(new Event('input')); field.dispatchEvent(new "
                     "Event('change')); })()");
  }

  static constexpr const char* kDone =
      "!document.getElementById('result').hidden && "
      "document.getElementById('measuring').hidden";
};

TEST_F(BenchPageInBrowser, APhotoThroughTheFileInputIsMeasuredAndKept) {
  const RunningBench bench;
  Browser browser(bench.scratch() / "profile", bench.address(), {.width = 390, .height = 844});
  ASSERT_TRUE(browser.wait_until("!!document.querySelector('input[name=view]:checked')"));
  EXPECT_EQ(browser.evaluate("location.search"), "") << "the token stays in no history";
  look(browser, "start-390-light");
  type(browser, "knife", "heron");
  type(browser, "thickness", "3.4mm");
  ASSERT_TRUE(browser.wait_until(
      "document.getElementById('guide').textContent.indexOf('Blade edge-up') === 0"));
  browser.choose_file("#stored", sample_file("edge-ground-offcentre.jpg"));
  ASSERT_TRUE(browser.wait_until(kDone));
  EXPECT_THAT(headline(browser), HasSubstr("mm"));
  ASSERT_TRUE(browser.wait_until("document.getElementById('picture').naturalWidth > 1000"));
  EXPECT_EQ(browser.evaluate("document.documentElement.scrollWidth"), 390) << "nothing sticks out";
  EXPECT_GE(browser.evaluate("document.getElementById('take').offsetHeight").get<int>(), 64);
  look(browser, "result-390-light");
  type(browser, "stage", "120 grit");
  EXPECT_EQ(browser.evaluate("document.getElementById('keep-button').textContent"),
            "Keep for heron, 120 grit");
  browser.evaluate("document.getElementById('keep-button').click()");
  EXPECT_TRUE(browser.wait_until(
      "document.getElementById('kept').textContent.indexOf('Kept: entry 1, heron, 120 grit') === "
      "0"));
  browser.evaluate("document.getElementById('keep').scrollIntoView()");
  look(browser, "kept-390-light");
  browser.evaluate("document.getElementById('zoom').click()");
  EXPECT_EQ(browser.evaluate("document.getElementById('large').open"), true);
  look(browser, "zoom-390-light");
}

TEST_F(BenchPageInBrowser, AToleranceIsSetAndTheVerdictFollows) {
  for (const auto& [width, dark] : {std::pair(390, false), std::pair(1280, true)}) {
    const RunningBench bench;
    bench.choose({{"view", "edge"}, {"knife", "heron"}, {"thickness", "3.4mm"}});
    Browser browser(bench.scratch() / "profile", bench.address(),
                    {.width = width, .height = width > 600 ? 900 : 844, .dark = dark});
    ASSERT_TRUE(browser.wait_until("!!document.querySelector('input[name=view]:checked')"));
    browser.choose_file("#stored", sample_file("edge-ground-offcentre.jpg"));
    ASSERT_TRUE(browser.wait_until(kDone));
    EXPECT_EQ(browser.evaluate("document.getElementById('head').className"), "none");
    browser.evaluate("document.getElementById('setup').open = true");
    type(browser, "tolerance", "0.05mm");
    EXPECT_TRUE(browser.wait_until("document.getElementById('head').className === 'outside'"));
    EXPECT_THAT(headline(browser), HasSubstr("limit 0.05"));
    EXPECT_EQ(browser.evaluate("document.getElementById('tolerance-note').textContent"),
              "(heron’s)");
    EXPECT_LE(browser.evaluate("document.documentElement.scrollWidth").get<int>(), width);
    browser.evaluate("document.getElementById('knife').scrollIntoView()");
    look(browser, "tolerance-" + std::to_string(width) + (dark ? "-dark" : "-light"));
    type(browser, "tolerance", "wide");
    EXPECT_TRUE(browser.wait_until(
        "document.getElementById('setup-problem').textContent.indexOf('wide') > 0"));
  }
}

TEST_F(BenchPageInBrowser, ARefusedPhotoSaysWhatToDoAndAPairIsGuided) {
  const RunningBench bench;
  bench.choose({{"view", "pair"}, {"thickness", "3mm"}});
  Browser browser(bench.scratch() / "profile", bench.address(),
                  {.width = 390, .height = 844, .dark = true});
  ASSERT_TRUE(browser.wait_until("!!document.querySelector('input[name=view]:checked')"));
  browser.choose_file("#stored", sample_file("edge-no-card.jpg"));
  ASSERT_TRUE(browser.wait_until(kDone));
  EXPECT_EQ(headline(browser), "NOT MEASURED");
  EXPECT_THAT(browser.evaluate("document.getElementById('next').textContent").get<std::string>(),
              testing::StartsWith("Do: "));
  look(browser, "refused-390-dark");
  browser.choose_file("#stored", sample_file("edge-turned-a.jpg"));
  EXPECT_TRUE(browser.wait_until(
      "document.getElementById('guide').textContent.indexOf('now turn the blade end for end') > "
      "0"));
  look(browser, "pair-390-dark");
}

TEST_F(BenchPageInBrowser, ARefusedPhotoIsShownWithWhatWasFound) {
  const RunningBench bench;
  bench.choose({{"view", "edge"}, {"thickness", "3.4mm"}});
  Browser browser(bench.scratch() / "profile", bench.address(),
                  {.width = 390, .height = 844, .dark = false});
  ASSERT_TRUE(browser.wait_until("!!document.querySelector('input[name=view]:checked')"));
  browser.choose_file("#stored", sample_file("edge-overexposed.jpg"));
  ASSERT_TRUE(browser.wait_until(kDone));
  EXPECT_EQ(headline(browser), "NOT MEASURED");
  EXPECT_TRUE(browser.wait_until("document.getElementById('picture').naturalWidth === 1600"));
  EXPECT_EQ(browser.evaluate("document.getElementById('report').hidden"), true);
  EXPECT_EQ(browser.evaluate("document.body.textContent.indexOf('--no-card')"), -1);
  look(browser, "refused-white-390-light");
}

TEST_F(BenchPageInBrowser, OneTouchAnswersWhatAPhotoDoesNotTell) {
  const RunningBench bench;
  bench.choose({{"view", "edge"}, {"thickness", "3.4mm"}});
  Browser browser(bench.scratch() / "profile", bench.address(),
                  {.width = 390, .height = 844, .dark = false});
  ASSERT_TRUE(browser.wait_until("!!document.querySelector('input[name=view]:checked')"));
  browser.choose_file("#stored", sample_file("edge-scribed-dye.jpg"));
  ASSERT_TRUE(browser.wait_until(kDone));
  EXPECT_EQ(headline(browser), "NOT MEASURED");
  EXPECT_EQ(browser.evaluate("document.getElementById('ask-tip').hidden"), false);
  EXPECT_EQ(browser.evaluate("document.getElementById('ask-shows').hidden"), true);
  EXPECT_EQ(browser.evaluate("document.documentElement.scrollWidth"), 390) << "nothing sticks out";
  look(browser, "asked-390-light");
  browser.evaluate("document.querySelector('#ask-tip [data-answer=right]').click()");
  ASSERT_TRUE(browser.wait_until("document.getElementById('ask-tip').hidden"));
  ASSERT_TRUE(browser.wait_until(kDone));
  EXPECT_THAT(headline(browser), HasSubstr("LEFT"));
}

TEST_F(BenchPageInBrowser, TheLensIsGuidedPhotoByPhoto) {
  const RunningBench bench;
  bench.choose({{"view", "lens"}});
  Browser browser(bench.scratch() / "profile", bench.address(), {.width = 390, .height = 844});
  ASSERT_TRUE(browser.wait_until("!!document.querySelector('input[name=view]:checked')"));
  for (const char* name : {"lens-01.jpg", "lens-02.jpg"}) {
    browser.choose_file("#stored", sample_file(name));
    const std::string number(1, name[6]);
    ASSERT_TRUE(browser.wait_until("document.getElementById('headline').textContent === 'PHOTO " +
                                   number + " COUNTS'"));
  }
  EXPECT_TRUE(browser.wait_until("document.getElementById('picture').naturalWidth > 1000"));
  EXPECT_EQ(browser.evaluate("document.getElementById('keep').hidden"), true);
  EXPECT_THAT(browser.evaluate("document.getElementById('guide').textContent").get<std::string>(),
              HasSubstr("the card"));
  look(browser, "lens-390-light");
  browser.evaluate("document.getElementById('over').click()");
  EXPECT_THAT(browser.evaluate("document.getElementById('over').textContent").get<std::string>(),
              HasSubstr("2 photos"))
      << "the first touch asks";
  EXPECT_EQ(browser.evaluate("document.documentElement.scrollWidth"), 390) << "nothing sticks out";
  look(browser, "lens-over-390-light");
  browser.evaluate("document.getElementById('over').click()");
  EXPECT_TRUE(browser.wait_until("document.getElementById('result').hidden"));
  browser.choose_file("#stored", sample_file("lens-03.jpg"));
  EXPECT_TRUE(
      browser.wait_until("document.getElementById('headline').textContent === 'PHOTO 1 COUNTS'"));
}

TEST_F(BenchPageInBrowser, TheLivePictureRunsSaysWhatToDoAndItsPhotoIsShown) {
  const test::FrameFiles frames(SOURCE_FOLDER "/sample-images/edge-usb.jpg");
  for (const auto& [width, dark] : {std::pair(1280, false), std::pair(390, true)}) {
    const RunningBench bench(test::with_camera(frames.source()));
    bench.choose({{"view", "edge"}, {"thickness", "3mm"}});
    Browser browser(bench.scratch() / "profile", bench.address(),
                    {.width = width, .height = width > 600 ? 900 : 844, .dark = dark});
    ASSERT_TRUE(browser.wait_until("document.getElementById('live-picture').naturalWidth === 960"));
    ASSERT_TRUE(browser.wait_until("document.getElementById('live-value').textContent !== ''"));
    EXPECT_EQ(browser.evaluate("document.querySelectorAll('#live-checks li.bad').length"), 0);
    EXPECT_LE(browser.evaluate("document.documentElement.scrollWidth").get<int>(), width);
    const std::string name = std::to_string(width) + (dark ? "-dark" : "-light");
    look(browser, "live-" + name);
    EXPECT_TRUE(browser.wait_until(kDone)) << "it takes the photo by itself";
    EXPECT_THAT(headline(browser), HasSubstr("mm"));
    look(browser, "live-taken-" + name);
  }
}

TEST_F(BenchPageInBrowser, TheLivePictureSaysWhatIsMissing) {
  const test::FrameFiles frames(SOURCE_FOLDER "/sample-images/edge-three-2.jpg", 1920);
  const RunningBench bench(test::with_camera(frames.source()));
  bench.choose({{"view", "edge"}, {"thickness", "3.175mm"}});
  Browser browser(bench.scratch() / "profile", bench.address(),
                  {.width = 390, .height = 844, .dark = false});
  EXPECT_TRUE(browser.wait_until(
      "document.getElementById('live-do').textContent.indexOf('Move the camera') === 0"));
  look(browser, "live-aside-390-light");
}

TEST_F(BenchPageInBrowser, AScriptAsAKnifesNameDoesNotRun) {
  const RunningBench bench;
  bench.choose({{"view", "edge"},
                {"knife", "<img src=x onerror='document.title=\"run\"'>"},
                {"thickness", "3mm"}});
  Browser browser(bench.scratch() / "profile", bench.address(),
                  {.width = 1280, .height = 900, .dark = true});
  ASSERT_TRUE(
      browser.wait_until("document.getElementById('chosen').textContent.indexOf('<img') > "
                         "0"));
  EXPECT_EQ(browser.evaluate("document.querySelectorAll('img[src=x]').length"), 0);
  EXPECT_EQ(browser.evaluate("document.title"), "evenbevel at the bench");
  look(browser, "start-1280-dark");
}

}  // namespace
}  // namespace evenbevel
