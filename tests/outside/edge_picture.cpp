#include "edge_picture.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>

#include <opencv2/aruco.hpp>
#include <opencv2/calib3d.hpp>
#include <opencv2/imgproc.hpp>

#include "drawn_step.hpp"
#include "opencv_camera.hpp"

namespace evenbevel::outside {
namespace {

constexpr int kWidth_px = 2400, kHeight_px = 1200;
constexpr double kFocal_px = 4500.0;
constexpr double kPi = 3.14159265358979;

// The edge card as its description says: 26 x 8 cells of 10 mm, black when column + row is even,
// markers of 0.75 cell from id 200 in the white ones, rows 3 and 4 the lane.
constexpr int kColumns = 26, kRows = 8, kLaneRow = 3, kFirstId = 200;
constexpr int kCell_px = 224, kMarker_px = 168, kRim_px = 56;

const cv::Scalar kWhite(0.62, 0.62, 0.62), kBlack(0.03, 0.03, 0.03), kLane(0.045, 0.156, 0.0);
constexpr double kSlot = 0.01;

cv::Rect cell(int column, int row) {
  return {kRim_px + column * kCell_px, kRim_px + row * kCell_px, kCell_px, kCell_px};
}

void draw_marker(cv::Mat& page, int id, const cv::Rect& where) {
  cv::Mat marker;
  cv::aruco::getPredefinedDictionary(cv::aruco::DICT_5X5_1000)
      ->drawMarker(id, kMarker_px, marker, 1);
  constexpr int kAround = (kCell_px - kMarker_px) / 2;
  page(cv::Rect(where.x + kAround, where.y + kAround, kMarker_px, kMarker_px))
      .setTo(kBlack, marker == 0);
}

/// Picture pixels from the page's, by four points of the card.
cv::Mat page_to_picture(const CardPage& page, const EdgePicture& picture) {
  std::vector<cv::Point2f> on_page, seen;
  std::vector<cv::Point3d> corners;
  for (const cv::Point2d& mm : {cv::Point2d{-130, -40}, {130, -40}, {130, 40}, {-130, 40}}) {
    corners.emplace_back(mm.x, mm.y, 0.0);
    on_page.emplace_back(page.middle_px + page.px_per_mm * cv::Point2d(mm.x, -mm.y));
  }
  for (const cv::Point2d& q : picture.project(corners)) seen.emplace_back(q);
  return cv::getPerspectiveTransform(on_page, seen);
}

/// Where a pinhole would see what the lens shows in each pixel, CV_32FC2.
cv::Mat pinhole_places(const EdgePicture& picture) {
  cv::Mat places(kHeight_px, kWidth_px, CV_32FC2);
  places.forEach<cv::Vec2f>([](cv::Vec2f& place, const int* at) {
    place = cv::Vec2f(static_cast<float>(at[1]), static_cast<float>(at[0]));
  });
  if (picture.distortion == std::array<double, 5>{}) return places;
  const cv::Matx33d matrix = test::matrix_of(picture.camera());
  const cv::TermCriteria settled(cv::TermCriteria::COUNT | cv::TermCriteria::EPS, 20, 1e-9);
  cv::Mat undistorted;
  cv::undistortPoints(places.reshape(2, kHeight_px * kWidth_px), undistorted, matrix,
                      cv::Mat(picture.distortion), cv::noArray(), matrix, settled);
  return undistorted.reshape(2, kHeight_px);
}

/// Adds a border's step to every pixel on its bright side.
void add_border(cv::Mat& light, const cv::Mat& places, const EdgePicture& picture,
                const Border& border) {
  const BorderLook look = border.look ? border.look : [&](cv::Point2d at, double slant_rad) {
    return test::drawn_step(at.y, picture.blur_px, slant_rad);
  };
  constexpr double kReach_px = 10.0;  // Beyond it a border is all dark or all bright.
  // Edge up and tip along the card's x: the left face looks toward the card's -y.
  const std::vector<cv::Point2d> ends =
      picture.project({{-100.0, -border.y_mm, border.z_mm}, {100.0, -border.y_mm, border.z_mm}});
  const cv::Point2d along = (ends[1] - ends[0]) / cv::norm(ends[1] - ends[0]);
  const cv::Point2d left(-along.y, along.x);  // down the picture
  const double slant = std::atan2(along.y, along.x);
  const double way = border.rise > 0.0 ? 1.0 : -1.0;
  const double bright = std::abs(border.rise), under = border.rise > 0.0 ? 0.0 : -bright;
  light.forEach<cv::Vec3f>([&](cv::Vec3f& pixel, const int* at) {
    const cv::Vec2f place = places.at<cv::Vec2f>(at[0], at[1]);
    const cv::Point2d from = cv::Point2d(place[0], place[1]) - ends[0];
    // The step of -rise down is rise up, seen from the other side.
    const cv::Point2d beside(way * from.dot(along), way * from.dot(left));
    const double share = std::abs(beside.y) < kReach_px ? look(beside, slant)
                         : beside.y > 0.0               ? 1.0
                                                        : 0.0;
    pixel += cv::Vec3f::all(static_cast<float>(under + bright * share));
  });
}

/// The page as the lens shows it, sharp.
cv::Mat page_light(const EdgePicture& picture, const cv::Mat& places) {
  static const CardPage drawn = aruco_page();
  const CardPage& page = picture.page ? *picture.page : drawn;
  cv::Mat on_page, light;
  cv::perspectiveTransform(places, on_page, page_to_picture(page, picture).inv());
  cv::remap(page.light, light, on_page, cv::noArray(), cv::INTER_LINEAR, cv::BORDER_CONSTANT,
            kWhite);
  return light;
}

cv::Mat light_of(const EdgePicture& picture) {
  const cv::Mat places = pinhole_places(picture);
  cv::Mat light = page_light(picture, places);
  cv::GaussianBlur(light, light, cv::Size(0, 0), picture.blur_px);
  for (const Border& border : picture.borders) add_border(light, places, picture, border);
  return light;
}

}  // namespace

void cut_slot(CardPage& page) {
  constexpr double kHalf_mm = 2.6;
  const int first = cvRound(page.middle_px.y + 0.5 - kHalf_mm * page.px_per_mm);
  const int height = cvRound(2.0 * kHalf_mm * page.px_per_mm);
  page.light(cv::Rect(0, first, page.light.cols, height)).setTo(cv::Scalar::all(kSlot));
}

CardPage aruco_page() {
  cv::Mat light(kRows * kCell_px + 2 * kRim_px, kColumns * kCell_px + 2 * kRim_px, CV_32FC3,
                kWhite);
  int id = kFirstId;
  for (int row = 0; row < kRows; ++row) {
    for (int column = 0; column < kColumns; ++column) {
      const cv::Rect where = cell(column, row);
      if (row == kLaneRow || row == kLaneRow + 1) {
        light(where).setTo(kLane);
      } else if ((column + row) % 2 == 0) {
        light(where).setTo(kBlack);
      } else {
        draw_marker(light, id++, where);
      }
    }
  }
  // Pixel centres at integers: the page's first pixel begins half a pixel before 0.
  CardPage page{light, kCell_px / 10.0, {0.5 * light.cols - 0.5, 0.5 * light.rows - 0.5}};
  cut_slot(page);
  return page;
}

CameraModel EdgePicture::camera() const {
  CameraModel camera;
  camera.width_px = kWidth_px, camera.height_px = kHeight_px;
  camera.focal_px.setConstant(kFocal_px);
  camera.centre_px = {0.5 * (kWidth_px - 1), 0.5 * (kHeight_px - 1)};
  const auto& d = distortion;
  camera.lens = Lens("pinhole", {d[0], d[1], d[2], d[3], d[4]});
  camera.lens_locked = true;
  return camera;
}

cv::Vec3d EdgePicture::rotation() const {
  cv::Matx33d tilt, face;
  cv::Rodrigues(tilt_rad, tilt);
  cv::Rodrigues(cv::Vec3d(kPi, 0.0, 0.0), face);
  cv::Vec3d rotation;
  cv::Rodrigues(tilt * face, rotation);
  return rotation;
}

cv::Vec3d EdgePicture::translation() const {
  cv::Matx33d turn;
  cv::Rodrigues(rotation(), turn);
  return -(turn * cv::Vec3d(camera_mm.x, camera_mm.y, camera_mm.z));
}

std::vector<cv::Point2d> EdgePicture::project(const std::vector<cv::Point3d>& card_mm) const {
  std::vector<cv::Point2d> seen;
  cv::projectPoints(card_mm, rotation(), translation(), test::matrix_of(camera()), cv::noArray(),
                    seen);
  return seen;
}

cv::Mat srgb_of(const cv::Mat& linear) {
  cv::Mat codes = linear.clone();
  codes.forEach<cv::Vec3f>([](cv::Vec3f& pixel, const int*) {
    for (int c = 0; c < 3; ++c) {
      const double l = pixel[c];
      pixel[c] =
          static_cast<float>(l <= 0.0031308 ? 12.92 * l : 1.055 * std::pow(l, 1.0 / 2.4) - 0.055);
    }
  });
  return codes;
}

cv::Mat draw_codes(const EdgePicture& picture) {
  const cv::Mat light = light_of(picture);
  return picture.encode ? picture.encode(light) : srgb_of(light);
}

Photo with_noise(const cv::Mat& codes, const EdgePicture& picture) {
  cv::Mat noise(codes.size(), codes.type());
  cv::RNG(static_cast<std::uint64_t>(picture.noise_seed))
      .fill(noise, cv::RNG::NORMAL, 0.0, picture.noise / 255.0);
  Photo photo;
  photo.name = "drawn";
  cv::Mat(codes + noise).convertTo(photo.pixels, CV_8UC3, 255.0);
  return photo;
}

Photo draw(const EdgePicture& picture) { return with_noise(draw_codes(picture), picture); }

std::vector<Border> ground_edge(double thickness_mm, double land_mm, double offset_mm,
                                double edge_z_mm) {
  const double half = 0.5 * thickness_mm;
  const double right = offset_mm - 0.5 * land_mm, left = offset_mm + 0.5 * land_mm;
  constexpr double kFacetRight = 0.34, kFacetLeft = 0.40, kLand = 0.14;
  return {{-half, edge_z_mm - (half + right), kFacetRight},
          {right, edge_z_mm, kLand - kFacetRight},
          {left, edge_z_mm, kFacetLeft - kLand},
          {half, edge_z_mm - (half - left), -kFacetLeft}};
}

std::vector<Border> scribed_edge(double thickness_mm, double gap_mm, double line_mm,
                                 double offset_mm, double edge_z_mm) {
  const double half = 0.5 * thickness_mm;
  constexpr double kFace = 0.20, kLine = 0.45;
  std::vector<Border> borders{{-half, edge_z_mm, kFace}};
  for (const double middle : {offset_mm - 0.5 * gap_mm, offset_mm + 0.5 * gap_mm}) {
    borders.push_back({middle - 0.5 * line_mm, edge_z_mm, kLine});
    borders.push_back({middle + 0.5 * line_mm, edge_z_mm, -kLine});
  }
  borders.push_back({half, edge_z_mm, -kFace});
  return borders;
}

}  // namespace evenbevel::outside
