// The pages of all views in a real browser, where Chromium is installed.

#include <fstream>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "choil_fixture.hpp"
#include "evenbevel/photo.hpp"
#include "fixture.hpp"
#include "report_checks.hpp"
#include "run_program.hpp"
#include "scratch_folder.hpp"
#include "side_fixture.hpp"

namespace evenbevel {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

bool installed(const std::string& program) {
  return test::run_program("command -v " + program).exit_code == 0;
}

class EdgePageInBrowser : public testing::Test {
 protected:
  void SetUp() override {
    if (!installed("chromium")) GTEST_SKIP() << "chromium is not installed";
  }

  std::filesystem::path page(const std::string& html) const {
    std::ofstream(folder_ / "report.html", std::ios::binary) << html;
    return folder_ / "report.html";
  }

  /// Chromium's output; `what` says what to do with the page.
  std::string browse(const std::filesystem::path& path, const std::string& what) const {
    const test::ProgramRun run = test::run_program(
        "timeout 60 chromium --headless --no-sandbox --disable-gpu --disable-background-networking "
        "--disable-component-update --no-first-run --virtual-time-budget=2000 --user-data-dir=" +
        (folder_ / "profile").string() + " " + what + " file://" + path.string());
    EXPECT_EQ(run.exit_code, 0) << run.output;
    return run.output;
  }

  struct Visit {
    std::string dom;                     ///< After the page's script ran.
    std::vector<std::string> addresses;  ///< Asked for, from the browser's own log of the net.
  };
  Visit visit(const std::string& html) const {
    const std::filesystem::path log = folder_ / "net.json";
    Visit seen{browse(page(html), "--log-net-log=" + log.string() + " --dump-dom"), {}};
    const std::string text = test::file_text(log);
    for (const std::string scheme : {"\"http://", "\"https://"}) {
      for (std::size_t at = text.find(scheme); at != std::string::npos;
           at = text.find(scheme, at + 1)) {
        seen.addresses.push_back(text.substr(at + 1, text.find('"', at + 1) - at - 1));
      }
    }
    return seen;
  }

  test::ScratchFolder folder_;
};

const ReportSettings kPageSettings{.tolerance_mm = 0.2, .command_line = "evenbevel"};

std::string edge_page() {
  const test::DrawnBlade blade{.stage = Stage::ground};
  const EdgeResult result = test::result_of(blade);
  const Photo photo = test::photo_of(blade);
  return statement_page(
      edge_statement(result, test::settings_of(blade), photo, test::camera_of(blade),
                     kPageSettings),
      {"The blade.", encode_jpeg(edge_picture(result, photo, kPageSettings).without_head(), 80)});
}

std::string side_page() {
  const test::DrawnFaces blade{};
  const SideResult result = test::result_of(blade);
  const test::FacePhotos photos(blade);
  const cv::Mat picture =
      side_picture(result, test::side_settings(), photos.given(), kPageSettings).without_head();
  return statement_page(
      side_statement(result, test::side_settings(), photos.given(), kPageSettings),
      {"The faces.", encode_jpeg(picture, 80)});
}

std::string choil_page() {
  const test::DrawnSection section{};
  const ChoilResult result = test::result_of(section);
  const Photo photo = test::photo_of(section);
  return statement_page(
      choil_statement(result, {}, photo, test::choil_camera(), kPageSettings),
      {"The section.",
       encode_jpeg(choil_picture(result, photo, kPageSettings).without_head(), 80)});
}

// The script sets the class "js": so its hash is the one that the page's policy names. Then a page
// that was tampered with: the policy keeps a foreign script and a foreign picture out. The same
// without the policy shows that this test would see them.
TEST_F(EdgePageInBrowser, ItsScriptRunsAndNothingIsAskedForFromOutside) {
  const std::string whole = side_page();
  const Visit visited = visit(whole);
  EXPECT_THAT(visited.dom, HasSubstr("<html lang=\"en\" data-unit=\"mm\" class=\"js\">"));
  EXPECT_THAT(visited.addresses, testing::Each(Not(HasSubstr("outside.example"))));

  std::string tampered = whole;
  tampered.insert(tampered.find("</main>"),
                  "<img src=\"http://outside.example/x.png\" alt=\"\">"
                  "<script>document.documentElement.lang = 'foreign';</script>");
  const Visit kept_out = visit(tampered);
  EXPECT_THAT(kept_out.addresses, testing::Each(Not(HasSubstr("outside.example"))));
  EXPECT_THAT(kept_out.dom, HasSubstr("<html lang=\"en\""));

  const std::size_t policy = tampered.find("<meta http-equiv");
  tampered.erase(policy, tampered.find('>', policy) + 1 - policy);
  const Visit let_in = visit(tampered);
  EXPECT_THAT(let_in.addresses, testing::Contains(HasSubstr("outside.example")));
  EXPECT_THAT(let_in.dom, HasSubstr("<html lang=\"foreign\""));
}

// What a reader chose before the page loaded itself again; set here by a script before the page's
// own, which the page's policy would keep out.
TEST_F(EdgePageInBrowser, KeepsTheUnitsWhenItReloads) {
  std::string whole = side_page();
  const std::size_t policy = whole.find("<meta http-equiv");
  whole.erase(policy, whole.find('>', policy) + 1 - policy);
  EXPECT_THAT(visit(whole).dom, HasSubstr("data-unit=\"mm\""));
  whole.insert(whole.find("<main>"), "<script>sessionStorage.setItem('unit', 'in');</script>");
  EXPECT_THAT(visit(whole).dom, HasSubstr("data-unit=\"in\""));
}

// As narrow as a phone: nothing has to be moved sideways; touched, the picture is there in its own
// size, and touched again it is back.
TEST_F(EdgePageInBrowser, AWidePictureFitsAPhoneAndIsEnlargedByATouch) {
  for (std::string whole : {edge_page(), side_page(), choil_page()}) {
    const std::size_t policy = whole.find("<meta http-equiv");
    whole.erase(policy, whole.find('>', policy) + 1 - policy);
    whole.insert(whole.find("</body>"), R"(<script>window.addEventListener('load', function () {
      var figure = document.querySelector('.picture'), image = figure.querySelector('img');
      var root = document.documentElement;
      var fits = figure.scrollWidth <= figure.clientWidth && root.scrollWidth <= root.clientWidth;
      image.click();
      var large = image.clientWidth === image.naturalWidth && figure.clientHeight >= innerHeight - 20;
      image.dispatchEvent(new KeyboardEvent('keydown', { key: 'Escape' }));
      var back = image.clientWidth <= root.clientWidth;
      root.lang = [innerWidth < 512, fits, large, back].join();
    });</script>)");
    EXPECT_THAT(browse(page(whole), "--window-size=500,844 --dump-dom"),
                HasSubstr("lang=\"true,true,true,true\""));
  }
}

// On paper: one page, with the picture, the numbers and the cautions; poppler reads it back.
TEST_F(EdgePageInBrowser, PrintsOnOnePage) {
  if (!installed("pdfinfo")) GTEST_SKIP() << "poppler-utils is not installed";
  for (const std::string& html : {edge_page(), side_page(), choil_page()}) {
    const std::string pdf = (folder_ / "page.pdf").string();
    browse(page(html), "--no-pdf-header-footer --print-to-pdf=" + pdf);
    EXPECT_THAT(test::run_program("pdfinfo " + pdf).output, testing::ContainsRegex("Pages: +1\n"));
    EXPECT_THAT(test::run_program("pdfimages -list " + pdf).output, HasSubstr("1600"));
    EXPECT_THAT(test::run_program("pdftotext -layout " + pdf + " -").output,
                AllOf(HasSubstr("U95"), HasSubstr("What to do"), HasSubstr("running belt"),
                      Not(HasSubstr("Lengths in"))));
  }
}

}  // namespace
}  // namespace evenbevel
