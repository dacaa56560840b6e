// edge_view with the page that other programs print, and on the file that another program writes.

#include <cmath>
#include <string>
#include <vector>

#include <gtest/gtest.h>
#include <opencv2/aruco.hpp>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "edge_checks.hpp"
#include "run_program.hpp"
#include "scratch_folder.hpp"

namespace evenbevel::outside {
namespace {

constexpr int kDotsPerInch = 400;
constexpr double kDotsPerMm = kDotsPerInch / 25.4;  // 1 pt = 1/72 inch, ISO 32000.

/// The card's middle: on opposite sides its outermost markers lie equally far from it.
cv::Point2d grid_middle(const cv::Mat& page) {
  cv::Mat small;
  constexpr double kShrink = 0.25;
  cv::resize(page, small, {}, kShrink, kShrink, cv::INTER_AREA);
  std::vector<std::vector<cv::Point2f>> corners;
  std::vector<int> ids;
  cv::aruco::detectMarkers(small, cv::aruco::getPredefinedDictionary(cv::aruco::DICT_5X5_1000),
                           corners, ids);
  cv::Rect2d all;
  for (const std::vector<cv::Point2f>& marker : corners)
    all |= cv::Rect2d(cv::boundingRect(marker));
  return {(all.x + 0.5 * all.width) / kShrink - 0.5, (all.y + 0.5 * all.height) / kShrink - 0.5};
}

/// The committed page as Poppler prints it.
CardPage poppler_page() {
  const test::ScratchFolder scratch;
  const std::string file = (scratch / "page").string();
  test::run_program("pdftoppm -singlefile -r " + std::to_string(kDotsPerInch) + " '" +
                    SOURCE_FOLDER "/calibration/edge-a4.pdf' '" + file + "'");
  const cv::Mat codes = cv::imread(file + ".ppm", cv::IMREAD_COLOR);
  if (codes.empty()) return {};
  CardPage page{{}, kDotsPerMm, grid_middle(codes)};
  codes.convertTo(page.light, CV_32F, 0.62 / 255.0);  // Paper and ink of a print; linear enough.
  page.light += cv::Scalar::all(0.02);
  cut_slot(page);
  return page;
}

// Poppler (package poppler-utils) prints the PDF, at 400 dots an inch. With the edge's height given
// the page is the ruler: a page drawn 0.2 % too large would show 0.006 mm in the thickness.
TEST(EdgeFilesOutside, ThePdfAsPopplerPrintsItIsTheRuler) {
  const CardPage page = poppler_page();
  if (page.light.empty()) GTEST_SKIP() << "poppler-utils not installed";
  EdgePicture picture;
  picture.tilt_rad = {0.03, -0.02, 0.02};
  picture.page = page;
  picture.borders = ground_edge(3.2, 0.42, -0.037, 4.0);
  EdgeSettings settings = settings_of(3.2, Stage::ground);
  settings.edge_height_mm = 4.0;
  const EdgeResult result = measure(picture, settings);
  expect_offset(result, -0.037);
  ASSERT_TRUE(result.thickness_mm && result.land_width_mm);
  EXPECT_NEAR(result.thickness_mm->value, 3.2, 0.006);
  EXPECT_NEAR(result.land_width_mm->value, 0.42, kOffset_mm);
}

// ImageMagick writes the JPEG, with colour at half resolution, as phones do.
TEST(EdgeFilesOutside, AJpegByImageMagickIsRead) {
  EdgePicture picture;
  picture.tilt_rad = {0.02, 0.03, -0.02};
  picture.borders = ground_edge(3.2, 0.42, 0.029, 4.0);
  const test::ScratchFolder scratch;
  const std::string png = (scratch / "edge.png").string(), jpeg = (scratch / "edge.jpg").string();
  cv::imwrite(png, draw(picture).pixels);
  const test::ProgramRun run =
      test::run_program("convert '" + png + "' -sampling-factor 4:2:0 -quality 80 '" + jpeg + "'");
  if (run.exit_code != 0) GTEST_SKIP() << "imagemagick not installed";
  expect_offset(edge_view(read_photo(jpeg), picture.camera(), settings_of(3.2, Stage::ground)),
                0.029);
}

}  // namespace
}  // namespace evenbevel::outside
