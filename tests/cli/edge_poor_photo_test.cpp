// A photo that is poor where it matters is refused, or measured with intervals that hold the truth;
// a lane without a blade is never measured.

#include <functional>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "edge_run.hpp"
#include "random_scene.hpp"
#include "render.hpp"
#include "seeded.hpp"
#include "sources.hpp"

namespace evenbevel::test {
namespace {

using testing::AnyOf;
using testing::HasSubstr;

const std::string kUsbTruth = kSource + "/sample-images/edge-usb.json";

/// Refused with a word on `fault`, or measured with intervals that hold the truth.
void expect_refused_or_honest(const EdgeRun& run, const cv::Mat& picture,
                              const testing::Matcher<std::string>& fault) {
  const ProgramRun result = run.run(run.picture("poor.png", picture) + usb_arguments());
  if (result.exit_code == 3) {
    EXPECT_THAT(result.output, fault);
    run.expect_refusal(result);
    return;
  }
  ASSERT_EQ(result.exit_code, 0) << result.output;
  const Held stations = held(run.out() / "report.json", kUsbTruth);
  EXPECT_GT(stations.stations, 20);
  EXPECT_GE(stations.share, 0.95) << result.output;
}

cv::Mat through_linear_light(const cv::Mat& picture, const std::function<void(cv::Mat&)>& change) {
  cv::Mat light;
  picture.convertTo(light, CV_32F, 1.0 / 255.0);
  cv::pow(light, 2.2, light);
  change(light);
  light = cv::min(cv::max(light, 0.0), 1.0);
  cv::pow(light, 1.0 / 2.2, light);
  cv::Mat out;
  light.convertTo(out, CV_8U, 255.0);
  return out;
}

cv::Mat blurred(double along_px, double across_px) {
  return through_linear_light(usb_photo(), [&](cv::Mat& light) {
    cv::GaussianBlur(light, light, {}, along_px, across_px);
  });
}

cv::Mat exposed(double factor) {
  return through_linear_light(usb_photo(), [&](cv::Mat& light) { light *= factor; });
}

const testing::Matcher<std::string> kBlurOrFocus = AnyOf(HasSubstr("blurred"), HasSubstr("focus"));

TEST(EdgeBadInput, ABlurredPhotoIsRefusedOrHonest) {
  for (const double sigma_px : {2.0, 3.0, 5.0, 8.0}) {
    SCOPED_TRACE(sigma_px);
    expect_refused_or_honest(EdgeRun(), blurred(sigma_px, sigma_px), kBlurOrFocus);
  }
}

// So little that other causes may come first in the message.
TEST(EdgeBadInput, ASoftPhotoIsRefusedOrHonest) {
  for (const double sigma_px : {0.6, 1.0, 1.4}) {
    SCOPED_TRACE(sigma_px);
    expect_refused_or_honest(EdgeRun(), blurred(sigma_px, sigma_px), HasSubstr("do: "));
  }
}

TEST(EdgeBadInput, AShakenPhotoIsRefusedOrHonest) {
  for (const double sigma_px : {2.0, 4.0}) {
    SCOPED_TRACE(sigma_px);
    expect_refused_or_honest(EdgeRun(), blurred(0.1, sigma_px), kBlurOrFocus);
    expect_refused_or_honest(EdgeRun(), blurred(sigma_px, 0.1), kBlurOrFocus);
  }
}

TEST(EdgeBadInput, AnOverExposedPhotoIsRefusedOrHonest) {
  for (const double factor : {1.5, 3.0, 3.6, 4.0, 6.0, 30.0}) {
    SCOPED_TRACE(factor);
    expect_refused_or_honest(EdgeRun(), exposed(factor), HasSubstr("over-exposed"));
  }
}

TEST(EdgeBadInput, AnUnderExposedPhotoIsRefusedOrHonest) {
  for (const double factor : {0.3, 0.1, 0.03, 0.01, 0.0}) {
    SCOPED_TRACE(factor);
    expect_refused_or_honest(EdgeRun(), exposed(factor), HasSubstr("under-exposed"));
  }
}

// ------------------------------------------------------------------------------- sample photos

// What is wrong with each stands in sample-images/README.md; what to pass, in its truth file.
TEST(EdgeBadInput, TheAdverseSamplePhotosAreRefusedForWhatIsWrongWithThem) {
  const EdgeRun run;
  const struct {
    const char* photo;
    const char* thickness;
    const char* fault;
  } samples[] = {{"edge-blurred", "3.175mm", "blurred"},
                 {"edge-overexposed", "3.4mm", "over-exposed"},
                 {"edge-no-blade", "3.175mm", "no blade"},
                 {"edge-no-card", "3.4mm", "no edge card"}};
  for (const auto& sample : samples) {
    SCOPED_TRACE(sample.photo);
    run.expect_refused(kSource + "/sample-images/" + sample.photo + ".jpg --thickness " +
                           sample.thickness + " --camera-file " + kSource +
                           "/calibration/sample-phone.yml",
                       HasSubstr(sample.fault));
  }
}

// No thickness makes a blade of two jaws with nothing between them.
TEST(EdgeBadInput, NoThicknessFindsABladeBetweenEmptyJaws) {
  const EdgeRun run;
  for (const char* thickness : {"1.6mm", "2mm", "3.4mm", "4mm", "5mm"}) {
    SCOPED_TRACE(thickness);
    run.expect_refused(kSource + "/sample-images/edge-no-blade.jpg --thickness " + thickness +
                           " --camera-file " + kSource + "/calibration/sample-phone.yml",
                       HasSubstr("no blade"));
  }
}

// ------------------------------------------------------------------------------------- no blade

EdgeScene scene_without_blade() {
  EdgeScene scene;
  scene.camera.width_px = 2000;
  scene.camera.height_px = 840;
  scene.camera.focal_px.setConstant(2400.0);
  scene.camera.centre_px = {999.5, 419.5};
  scene.set_up.T_camera_card = looking_at({2.0, 1.0, 0.0}, {6.0, 3.0, 205.0}, 0.01);
  scene.blade.x_min_mm = 500.0;  // far outside of the picture
  scene.blade.x_max_mm = 510.0;
  scene.light_slope_x = 0.1;
  return scene;
}

EdgeScene scene_with_whole_lane() {
  EdgeScene scene = scene_without_blade();
  scene.set_up.slot_half_width_mm = 0.0;
  return scene;
}

/// Multiplies the light along a line on the card by `factor`; soft borders where wanted.
void line_on_card(Light& light, const EdgeScene& scene, double y_mm, double width_mm, double factor,
                  double soft_px = 0.7) {
  cv::Mat mask = cv::Mat::zeros(light.pixels.size(), CV_32F);
  std::vector<cv::Point> outline;
  constexpr int kShift = 4;  // 1/16 px
  const auto add = [&](double x, double y) {
    const Eigen::Vector2d q = 16.0 * pixel_of_print(scene, {x, y});
    outline.emplace_back(static_cast<int>(q.x()), static_cast<int>(q.y()));
  };
  for (double x = -70.0; x <= 70.0; x += 2.0) add(x, y_mm - 0.5 * width_mm);
  for (double x = 70.0; x >= -70.0; x -= 2.0) add(x, y_mm + 0.5 * width_mm);
  cv::fillPoly(mask, std::vector<std::vector<cv::Point>>{outline}, 1.0, cv::LINE_AA, kShift);
  cv::GaussianBlur(mask, mask, {}, soft_px);
  cv::Mat by = 1.0 + (factor - 1.0) * mask, colours;
  cv::merge(std::vector<cv::Mat>{by, by, by}, colours);
  cv::multiply(light.pixels, colours, light.pixels);
}

void expect_no_blade(const EdgeScene& scene, const Light& light, const std::string& thickness) {
  const EdgeRun run;
  std::mt19937_64 rng = seeded("EdgeNoBlade", 0);
  const std::string photo = run.picture("lane.png", take_picture(light, {}, rng));
  const std::string camera = run.camera_file("camera.yml", scene.camera);
  run.expect_refused(photo + " --thickness " + thickness + " --camera-file " + camera,
                     AnyOf(HasSubstr("no blade"), HasSubstr("could be the blade's flats")));
}

TEST(EdgeBadInput, AnEmptyLaneHasNoBlade) {
  const EdgeScene whole = scene_with_whole_lane();
  expect_no_blade(whole, render_light(whole, {.cheap = true}), "3mm");
}

TEST(EdgeBadInput, JawsAloneAreNoBlade) {
  for (const double gap_mm : {0.05, 3.0}) {
    for (const double lit : {0.006, 0.3}) {  // dark between the jaws, or light paper below
      SCOPED_TRACE(testing::Message() << gap_mm << " mm, " << lit);
      EdgeScene scene = scene_without_blade();
      scene.blade.thickness_mm = gap_mm;
      scene.paints.gap = grey_paint(lit);
      expect_no_blade(scene, render_light(scene, {.cheap = true}), "3mm");
    }
  }
}

TEST(EdgeBadInput, AShadowIsNoBlade) {
  for (const double soft_px : {1.0, 6.0}) {
    SCOPED_TRACE(soft_px);
    const EdgeScene scene = scene_with_whole_lane();
    Light light = render_light(scene, {.cheap = true});
    line_on_card(light, scene, 0.5, 3.05, 0.5, soft_px);
    expect_no_blade(scene, light, "3mm");
  }
}

TEST(EdgeBadInput, PencilLinesAreNoBlade) {
  const EdgeScene scene = scene_with_whole_lane();
  const Light bare = render_light(scene, {.cheap = true});
  // One line; the outline of a narrow slot; that with its middle line.
  for (const std::vector<double>& lines :
       {std::vector{0.4}, std::vector{-1.55, 1.55}, std::vector{-1.55, 0.0, 1.55}}) {
    SCOPED_TRACE(lines.size());
    Light light{bare.pixels.clone(), bare.blur_px};
    for (const double y_mm : lines) line_on_card(light, scene, y_mm, 0.4, 0.35);
    expect_no_blade(scene, light, "3mm");
  }
}

}  // namespace
}  // namespace evenbevel::test
