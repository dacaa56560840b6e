// The renderer itself, against closed forms: its pictures show the borders where its truth says.

#include "render.hpp"

#include <cmath>

#include <gtest/gtest.h>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "caster.hpp"
#include "evenbevel/units.hpp"
#include "imaging.hpp"
#include "lens.hpp"
#include "random_scene.hpp"
#include "seeded.hpp"

namespace evenbevel::test {
namespace {

/// A plain scene: no texture, even light, a lens that bends, everything a little askew.
EdgeScene plain_scene(SceneStage stage) {
  EdgeScene scene;
  scene.blade.stage = stage;
  scene.blade.offset_mm = {.at_zero = 0.05, .slope = 2e-4};
  scene.blade.left.plunge.x_mm = 0.4;
  scene.blade.right.plunge.x_mm = -0.4;
  scene.set_up.edge_height_mm = {.at_zero = 4.0, .slope = 0.004, .bow = -4e-5};
  scene.set_up.in_plane_rad = 0.006;
  scene.set_up.jaw_tilt_rad = 0.002;
  scene.set_up.T_camera_card = looking_at({0.0, 0.0, 0.0}, {8.0, -9.0, 220.0}, 0.012);
  scene.camera.width_px = 1600;
  scene.camera.height_px = 1200;
  scene.camera.focal_px.setConstant(2400.0);
  scene.camera.centre_px = {806.0, 594.0};
  scene.camera.lens = Lens("pinhole", {0.06, -0.1, 4e-4, -3e-4, 0.04});
  return scene;
}

double grey(const cv::Mat& light, int column, int row) {
  return light.at<cv::Vec3f>(row, column)[1];
}

/// The station whose point, picked out of the truth, falls on a column of the picture.
template <class Pick>
StationTruth truth_on_column(const EdgeScene& scene, int column, Pick pick) {
  double x = 0.0;
  for (int step = 0; step < 8; ++step) {
    const double here = pick(truth_at(scene, x)).x();
    const double slope = pick(truth_at(scene, x + 0.5)).x() - here;
    x += 0.5 * (column - here) / slope;
  }
  return truth_at(scene, x);
}

/// Row of the one border between two levels in a column, by area: exact for any pixel square.
double border_row(const cv::Mat& light, int column, double near_row) {
  const int first = static_cast<int>(std::lround(near_row)) - 3;
  const int last = first + 6;
  const double above = grey(light, column, first);
  const double below = grey(light, column, last);
  double covered = 0.0;
  for (int row = first; row <= last; ++row) {
    covered += (grey(light, column, row) - below) / (above - below);
  }
  return first - 0.5 + covered;
}

TEST(RenderClosedForm, LandBordersLieWhereTheTruthProjectsThem) {
  EdgeScene scene = plain_scene(SceneStage::ground);
  scene.blade.land_width_mm = {.at_zero = 0.9};  // 10 px: the borders' pixels do not touch
  const cv::Mat light = render_light(scene, {.samples = 89}).pixels;
  const auto left = [](const StationTruth& t) { return t.left_px; };
  const auto right = [](const StationTruth& t) { return t.right_px; };
  cv::Scalar sum;
  int columns = 0;
  for (int column = 500; column < 1100; column += 7) {
    const double left_row = left(truth_on_column(scene, column, left)).y();
    const double right_row = right(truth_on_column(scene, column, right)).y();
    const double left_miss = border_row(light, column, left_row) - left_row;
    const double right_miss = border_row(light, column, right_row) - right_row;
    EXPECT_NEAR(left_miss, 0.0, 0.04) << "column " << column;  // 4 pixels, a ray is 0.011 px
    EXPECT_NEAR(right_miss, 0.0, 0.04) << "column " << column;
    sum += cv::Scalar(left_miss, right_miss);
    ++columns;
  }
  // A ray more or less is random from pixel to pixel: 86 columns bring it to 0.001 px.
  EXPECT_NEAR(sum[0] / columns, 0.0, 0.002);
  EXPECT_NEAR(sum[1] / columns, 0.0, 0.002);
}

// A step blurred by sigma and integrated over pixels: sigma [G(a + h) - G(a - h)], h half a pixel,
// G(t) = t Phi(t) + phi(t) (the normal distribution integrated twice).
double blurred_step(double from_border_px, double sigma_px) {
  const auto ramp = [](double t) {
    return t * 0.5 * std::erfc(-t / std::sqrt(2.0)) + std::exp(-0.5 * t * t) / std::sqrt(2.0 * kPi);
  };
  return sigma_px *
         (ramp((from_border_px + 0.5) / sigma_px) - ramp((from_border_px - 0.5) / sigma_px));
}

TEST(RenderClosedForm, ABlurredBorderFollowsTheErrorFunction) {
  EdgeScene scene = plain_scene(SceneStage::ground);
  scene.blade.land_width_mm = {.at_zero = 1.2};
  std::mt19937_64 rng = seeded("RenderClosedForm", 1);
  const cv::Mat picture =
      take_picture(render_light(scene, {.samples = 89}),
                   {.blur_px = 0.8, .read_noise = 0.0, .shot_noise = 0.0, .srgb = false}, rng);
  const auto left = [](const StationTruth& t) { return t.left_px; };
  double sum = 0.0;
  double sum_squares = 0.0;
  int pixels = 0;
  for (int column = 500; column < 1100; column += 5) {
    const double row = truth_on_column(scene, column, left).left_px.y();
    for (int i = static_cast<int>(row) - 3; i <= static_cast<int>(row) + 4; ++i) {
      const double step =
          scene.paints.land.g - scene.paints.facet_left.g;  // land above, in the picture
      const double expected = scene.paints.facet_left.g + step * blurred_step(row - i, 0.8);
      const double miss = (picture.at<cv::Vec3b>(i, column)[1] / 255.0 - expected) / step;
      EXPECT_NEAR(miss, 0.0, 0.02);
      sum += miss;
      sum_squares += miss * miss;
      ++pixels;
    }
  }
  EXPECT_NEAR(sum / pixels, 0.0, 0.001);
  EXPECT_LT(std::sqrt(sum_squares / pixels), 0.006);  // rounding to a code alone: 0.003
}

TEST(RenderClosedForm, ScribeLinesHaveTheirWidthAndPlace) {
  EdgeScene scene = plain_scene(SceneStage::scribed_dye);
  scene.blade.line_gap_mm = 0.8;
  const cv::Mat light = render_light(scene, {.samples = 89}).pixels;
  const double face = scene.paints.face.g;
  const double line = scene.paints.line_left.g;
  double weight_mean = 0.0;
  double row_miss = 0.0;
  int columns = 0;
  for (int column = 500; column < 1100; column += 7) {
    const auto left = [](const StationTruth& t) { return t.left_px; };
    const StationTruth truth = truth_on_column(scene, column, left);
    double weight = 0.0;
    double moment = 0.0;
    const int middle = static_cast<int>(std::lround(truth.left_px.y()));
    for (int row = middle - 3; row <= middle + 3; ++row) {
      const double share = (grey(light, column, row) - face) / (line - face);
      weight += share;
      moment += share * row;
    }
    const double px_per_mm = (truth.left_px - truth.right_px).norm() / scene.blade.line_gap_mm;
    weight_mean += weight / (scene.blade.line_width_mm * px_per_mm);
    row_miss += moment / weight - truth.left_px.y();
    ++columns;
  }
  EXPECT_NEAR(weight_mean / columns, 1.0, 0.01);
  EXPECT_NEAR(row_miss / columns, 0.0, 0.01);
}

TEST(RenderClosedForm, FlatsBeginWhereTheTruthSays) {
  EdgeScene scene = plain_scene(SceneStage::scribed_bare);
  scene.paints.chamfer_left = scene.paints.face;  // the one border left is that of the flat
  scene.paints.chamfer_right = scene.paints.face;
  scene.set_up.T_camera_card = looking_at({0.0, 0.0, 0.0}, {0.0, -45.0, 220.0}, 0.0);
  const cv::Mat light = render_light(scene, {.samples = 55}).pixels;
  const auto left = [](const StationTruth& t) { return t.flat_left_px; };
  for (int column = 500; column < 1100; column += 50) {
    // From the left side (-y of the card) the left flat shows under the face.
    const double row = truth_on_column(scene, column, left).flat_left_px.y();
    EXPECT_NEAR(border_row(light, column, row), row, 0.06) << "column " << column;
  }
}

TEST(RenderClosedForm, CardCornersLieWhereThePrintProjects) {
  EdgeScene scene = plain_scene(SceneStage::ground);
  scene.set_up.print_along = 0.995;
  scene.set_up.print_across = 1.003;
  std::mt19937_64 rng = seeded("RenderClosedForm", 0);
  const Light light = render_light(scene, {.cheap = true});
  const cv::Mat picture =
      take_picture(light, {.read_noise = 0.0, .shot_noise = 0.0, .srgb = false}, rng);
  cv::Mat one;
  cv::extractChannel(picture, one, 1);
  std::vector<cv::Point2f> found;
  std::vector<Eigen::Vector2d> truth;
  for (int column = -6; column <= 6; ++column) {
    for (const double y : {20.0, 30.0, -20.0, -30.0}) {
      truth.push_back(pixel_of_print(scene, {10.0 * column, y}));
      found.emplace_back(static_cast<float>(truth.back().x() + 0.4),
                         static_cast<float>(truth.back().y() - 0.3));
    }
  }
  cv::cornerSubPix(one, found, {9, 9}, {-1, -1},
                   cv::TermCriteria(cv::TermCriteria::COUNT | cv::TermCriteria::EPS, 60, 1e-4));
  // OpenCV's refinement itself scatters by 0.02 px with the corner's place between pixels; over 52
  // corners the mean is good to 0.003 px, and a lens, print scale or pixel convention gone wrong
  // shows as tenths.
  Eigen::Vector2d mean = Eigen::Vector2d::Zero();
  for (std::size_t i = 0; i < truth.size(); ++i) {
    const Eigen::Vector2d miss(found[i].x - truth[i].x(), found[i].y - truth[i].y());
    EXPECT_LT(miss.norm(), 0.1);
    mean += miss / static_cast<double>(truth.size());
  }
  EXPECT_LT(mean.norm(), 0.009);
}

TEST(RenderClosedForm, TheOutlineStandsAtHalfDepthAtThePlunge) {
  for (const SceneStage stage : {SceneStage::ground, SceneStage::bevelled}) {
    const EdgeScene scene = plain_scene(stage);
    const BladeShape& blade = scene.blade;
    const double x = blade.left.plunge.x_mm;
    const double border = blade.offset_mm(x) + 0.5 * blade.land_width_mm(x);
    EXPECT_NEAR(cross_section(scene, x).left_mm, 0.5 * (border + 0.5 * blade.thickness_mm), 1e-9);
    EXPECT_FALSE(clear_of_plunges(scene, x));
    EXPECT_TRUE(clear_of_plunges(scene, x + 3.0));  // the fillet's radius
  }
}

TEST(RenderClosedForm, TheLeftFaceIsTowardTheBottomOfTheCardWhenTheTipIsRight) {
  EdgeScene scene = plain_scene(SceneStage::ground);
  const auto card_y = [&] {
    return (card_from_blade(scene.set_up) * Point<Blade>{{0.0, 1.0, 0.0}}).mm.y();
  };
  EXPECT_LT(card_y(), -0.99);
  scene.set_up.tip_left = true;
  EXPECT_GT(card_y(), 0.99);
}

TEST(RenderClosedForm, TheTruthNearestAPixelIsThatPixelsStation) {
  const EdgeScene scene = plain_scene(SceneStage::ground);
  const StationTruth truth = truth_at(scene, 37.25);
  EXPECT_NEAR(truth_nearest(scene, truth.middle_px).x_mm, 37.25, 1e-9);
}

TEST(RenderClosedForm, TheCheapPictureIsTheSameInTheStripAndAroundCorners) {
  const EdgeScene scene = plain_scene(SceneStage::bevelled);
  const cv::Mat full = render_light(scene).pixels;
  const cv::Mat cheap = render_light(scene, {.cheap = true}).pixels;
  const StationTruth truth = truth_at(scene, 40.0);
  const Eigen::Vector2d corner = pixel_of_print(scene, {20.0, 20.0});
  for (const Eigen::Vector2d& q : {truth.middle_px, corner}) {
    const cv::Rect around(static_cast<int>(q.x()) - 20, static_cast<int>(q.y()) - 20, 41, 41);
    EXPECT_EQ(cv::norm(full(around), cheap(around), cv::NORM_INF), 0.0);
  }
  EXPECT_GT(cv::norm(full, cheap, cv::NORM_INF), 0.1);
}

// IEC 61966-2-1: code 0.5 is linear light 0.21404 (from memory, recomputed).
TEST(ImagingClosedForm, HalfTheCodeIsTwentyOnePercentOfTheLight) {
  EXPECT_NEAR(srgb_code(0.21404), 0.5, 1e-5);
  EXPECT_NEAR(srgb_code(1.0), 1.0, 1e-12);
  EXPECT_NEAR(srgb_code(0.0031308), 12.92 * 0.0031308, 1e-6);
}

TEST(ImagingClosedForm, NoiseGrowsAsTheRootOfLight) {
  std::mt19937_64 rng = seeded("ImagingClosedForm", 1);
  for (const double level : {0.1, 0.6}) {
    const cv::Mat light(400, 400, CV_32FC1, cv::Scalar(level));
    const Imaging imaging{.blur_px = 0.0, .read_noise = 0.01, .shot_noise = 0.05, .srgb = false};
    cv::Scalar mean;
    cv::Scalar sd;
    cv::meanStdDev(take_picture({light}, imaging, rng), mean, sd);
    const double expected = std::sqrt(0.01 * 0.01 + 0.05 * 0.05 * level);
    EXPECT_NEAR(mean[0] / 255.0, level, 4.0 * expected / 400.0);
    // 160,000 values: 0.2 % of the spread; quantisation adds 1/12 code squared, under 1 %.
    EXPECT_NEAR(sd[0] / 255.0, expected, 0.015 * expected);
  }
}

TEST(ImagingClosedForm, TooMuchLightIsClipped) {
  std::mt19937_64 rng = seeded("ImagingClosedForm", 2);
  const cv::Mat light(20, 20, CV_32FC3, cv::Scalar(0.4, 0.7, 0.9));
  const Imaging imaging{.exposure = 1.5, .read_noise = 0.0, .shot_noise = 0.0};
  const auto code = take_picture({light}, imaging, rng).at<cv::Vec3b>(10, 10);
  EXPECT_EQ(code[0], std::lround(255.0 * srgb_code(0.6)));
  EXPECT_EQ(code[1], 255);
  EXPECT_EQ(code[2], 255);
}

Imaging clean_phone(double lateral_px) {
  return {.blur_px = 0.0,
          .read_noise = 0.0,
          .shot_noise = 0.0,
          .phone = PhoneChain{.lateral_px = lateral_px, .local_tone = 0.0}};
}

TEST(ImagingClosedForm, AnEvenColourComesThroughThePhonesMosaic) {
  std::mt19937_64 rng = seeded("ImagingClosedForm", 3);
  const cv::Mat light(64, 64, CV_32FC3, cv::Scalar(0.1, 0.3, 0.6));
  const auto code = take_picture({light}, clean_phone(0.5), rng).at<cv::Vec3b>(32, 32);
  EXPECT_NEAR(code[0], 255.0 * srgb_code(0.1), 1.0);
  EXPECT_NEAR(code[1], 255.0 * srgb_code(0.3), 1.0);
  EXPECT_NEAR(code[2], 255.0 * srgb_code(0.6), 1.0);
}

// 0.4 px at the border of a picture 801 px wide: at 3/4 of the way there 0.3 px, red outward.
TEST(ImagingClosedForm, LateralColourMovesRedOutAndBlueIn) {
  cv::Mat light(60, 801, CV_32FC3, cv::Scalar(0.2, 0.2, 0.2));  // whole codes: 51, 153
  light.colRange(700, 801).setTo(cv::Scalar(0.6, 0.6, 0.6));
  std::mt19937_64 rng = seeded("ImagingClosedForm", 4);
  Imaging imaging = clean_phone(0.4);
  imaging.blur_px = 1.5;  // a sharp border would fall between the pixels of one colour
  imaging.srgb = false;
  imaging.phone->denoise = 1e-4;
  imaging.phone->follow_edges = false;
  const cv::Mat picture = take_picture({light}, imaging, rng);
  const auto border = [&](int channel) {  // by area, over rows of both kinds
    double covered = 0.0;
    for (int row = 20; row < 40; ++row) {
      for (int column = 690; column < 710; ++column) {
        covered += (picture.at<cv::Vec3b>(row, column)[channel] / 255.0 - 0.2) / 0.4;
      }
    }
    return 709.5 - covered / 20.0;
  };
  // The warp places each channel to 1/32 px; rounding adds as much over 20 columns.
  EXPECT_NEAR(border(2) - border(0), 2.0 * 0.4 * 299.5 / 400.0, 0.1);
}

TEST(RandomSceneProperty, TheSameSeedGivesTheSameScene) {
  std::mt19937_64 first = seeded("RandomScene", 3);
  std::mt19937_64 second = seeded("RandomScene", 3);
  const EdgeScene a = random_edge_scene(SceneStage::ground, first);
  const EdgeScene b = random_edge_scene(SceneStage::ground, second);
  EXPECT_EQ(a.blade.offset_mm.at_zero, b.blade.offset_mm.at_zero);
  EXPECT_EQ(a.camera.focal_px.x(), b.camera.focal_px.x());
  EXPECT_EQ(first(), second());
}

TEST(RandomSceneProperty, TheBladeCrossesThePicturesMiddle) {
  for (int scene_number = 0; scene_number < 200; ++scene_number) {
    std::mt19937_64 rng = seeded("RandomSceneFrame", scene_number);
    const EdgeScene scene = random_edge_scene(static_cast<SceneStage>(scene_number % 4), rng);
    int seen_mm = 0;
    for (double x = scene.blade.x_min_mm; x <= scene.blade.x_max_mm; x += 1.0) {
      const double z = cross_section(scene, x).edge_z_mm;
      const Eigen::Vector2d q = pixel_of(scene, {{x, 0.0, z}});
      if (q.x() < 0.0 || q.x() > scene.camera.width_px) continue;
      EXPECT_GT(q.y(), 150.0) << "scene " << scene_number;
      EXPECT_LT(q.y(), scene.camera.height_px - 150.0) << "scene " << scene_number;
      ++seen_mm;
    }
    EXPECT_GT(seen_mm, 60) << "scene " << scene_number;
  }
}

// Two in five of the ground scenes at least are to have a border of less than 25 % somewhere, one
// in six of less than 8 %, and the contrast is to change its sign along the blade now and then.
TEST(RandomSceneProperty, WeakBordersOfTheLandAppear) {
  constexpr int kScenes = 200;
  int below_8 = 0, below_25 = 0, change_of_sign = 0;
  for (int number = 0; number < kScenes; ++number) {
    std::mt19937_64 rng = seeded("RandomSceneContrast", number);
    const EdgeScene scene = random_edge_scene(SceneStage::ground, rng);
    double weakest = 1.0, low = 1.0, high = -1.0;
    for (double x = 5.0; x < scene.blade.x_max_mm; x += 10.0) {
      const StationTruth truth = truth_at(scene, x);
      weakest = std::min({weakest, std::abs(truth.contrast_left), std::abs(truth.contrast_right)});
      low = std::min(low, truth.contrast_left);
      high = std::max(high, truth.contrast_left);
    }
    below_8 += weakest < 0.08 ? 1 : 0;
    below_25 += weakest < 0.25 ? 1 : 0;
    change_of_sign += low < 0.0 && high > 0.0 ? 1 : 0;
  }
  EXPECT_GT(below_8, kScenes / 6);
  EXPECT_GT(below_25, 2 * kScenes / 5);
  EXPECT_GT(change_of_sign, kScenes / 40);
}

}  // namespace
}  // namespace evenbevel::test
