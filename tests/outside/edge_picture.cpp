#include "edge_picture.hpp"

#include <cmath>

#include <opencv2/aruco.hpp>
#include <opencv2/calib3d.hpp>
#include <opencv2/imgproc.hpp>

namespace evenbevel::outside {
namespace {

constexpr int kWidth_px = 2400, kHeight_px = 1200;
constexpr double kFocal_px = 4500.0;
constexpr double kPi = 3.14159265358979;

// The edge card as its description says: 26 x 8 cells of 10 mm, black when column + row is even,
// markers of 0.75 cell from id 200 in the white ones, rows 3 and 4 the lane.
constexpr int kColumns = 26, kRows = 8, kLaneRow = 3, kFirstId = 200;
constexpr int kCell_px = 224, kMarker_px = 168, kRim_px = 56;
constexpr double kPage_px_per_mm = kCell_px / 10.0;

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

/// The card on whole pixels, linear light, with its slot.
cv::Mat page_of(double slot_half_mm) {
  cv::Mat page(kRows * kCell_px + 2 * kRim_px, kColumns * kCell_px + 2 * kRim_px, CV_32FC3, kWhite);
  int id = kFirstId;
  for (int row = 0; row < kRows; ++row) {
    for (int column = 0; column < kColumns; ++column) {
      const cv::Rect where = cell(column, row);
      if (row == kLaneRow || row == kLaneRow + 1) {
        page(where).setTo(kLane);
      } else if ((column + row) % 2 == 0) {
        page(where).setTo(kBlack);
      } else {
        draw_marker(page, id++, where);
      }
    }
  }
  const int half = cvRound(slot_half_mm * kPage_px_per_mm);
  page(cv::Rect(0, page.rows / 2 - half, page.cols, 2 * half)).setTo(cv::Scalar::all(kSlot));
  return page;
}

/// Picture pixels from the page's, by four points of the card.
cv::Mat page_to_picture(const EdgePicture& picture) {
  std::vector<cv::Point2f> page, seen;
  std::vector<cv::Point3d> corners;
  for (const cv::Point2d& mm : {cv::Point2d{-130, -40}, {130, -40}, {130, 40}, {-130, 40}}) {
    corners.emplace_back(mm.x, mm.y, 0.0);
    // Pixel centres at integers: the page's first pixel begins half a pixel before 0.
    page.emplace_back(static_cast<float>(kRim_px + kPage_px_per_mm * (mm.x + 130.0) - 0.5),
                      static_cast<float>(kRim_px + kPage_px_per_mm * (40.0 - mm.y) - 0.5));
  }
  for (const cv::Point2d& q : picture.project(corners)) seen.emplace_back(q);
  return cv::getPerspectiveTransform(page, seen);
}

/// Adds a border's step to every pixel on its bright side.
void add_border(cv::Mat& light, const EdgePicture& picture, const Border& border,
                const BorderLook& look) {
  // Edge up and tip along the card's x: the left face looks toward the card's -y.
  const std::vector<cv::Point2d> ends =
      picture.project({{-100.0, -border.y_mm, border.z_mm}, {100.0, -border.y_mm, border.z_mm}});
  const cv::Point2d along = (ends[1] - ends[0]) / cv::norm(ends[1] - ends[0]);
  const cv::Point2d left(-along.y, along.x);  // down the picture
  const double way = border.rise > 0.0 ? 1.0 : -1.0;
  for (int row = 0; row < light.rows; ++row) {
    for (int column = 0; column < light.cols; ++column) {
      const cv::Point2d from = cv::Point2d(column, row) - ends[0];
      const double beside_px = from.dot(left);
      // The step of -rise down is rise up, seen from the other side.
      const double shown = std::abs(border.rise) * look({way * from.dot(along), way * beside_px});
      const double level = border.rise > 0.0 ? shown : shown - std::abs(border.rise);
      light.at<cv::Vec3f>(row, column) += cv::Vec3f::all(static_cast<float>(level));
    }
  }
}

}  // namespace

double blurred_step(double from_edge_px, double sigma_px) {
  const auto integral = [](double t) {
    return 0.5 * t * std::erfc(-t / std::sqrt(2.0)) + std::exp(-0.5 * t * t) / std::sqrt(2.0 * kPi);
  };
  return sigma_px *
         (integral((from_edge_px + 0.5) / sigma_px) - integral((from_edge_px - 0.5) / sigma_px));
}

BorderLook blurred_step_look(double sigma_px) {
  return [sigma_px](cv::Point2d at) {
    if (std::abs(at.y) > 8.0 * sigma_px + 1.0) return at.y > 0.0 ? 1.0 : 0.0;
    return blurred_step(at.y, sigma_px);
  };
}

CameraModel EdgePicture::camera() const {
  CameraModel camera;
  camera.width_px = kWidth_px, camera.height_px = kHeight_px;
  camera.focal_px.setConstant(kFocal_px);
  camera.centre_px.x() = 0.5 * (kWidth_px - 1), camera.centre_px.y() = 0.5 * (kHeight_px - 1);
  camera.lens_locked = true;
  return camera;
}

std::vector<cv::Point2d> EdgePicture::project(const std::vector<cv::Point3d>& card_mm) const {
  cv::Matx33d tilt, face;
  cv::Rodrigues(tilt_rad, tilt);
  cv::Rodrigues(cv::Vec3d(kPi, 0.0, 0.0), face);
  cv::Vec3d rotation;
  const cv::Matx33d turn = tilt * face;
  cv::Rodrigues(turn, rotation);
  const cv::Vec3d place = -(turn * cv::Vec3d(camera_mm.x, camera_mm.y, camera_mm.z));
  const CameraModel pinhole = camera();
  const cv::Matx33d matrix(pinhole.focal_px.x(), 0, pinhole.centre_px.x(), 0, pinhole.focal_px.y(),
                           pinhole.centre_px.y(), 0, 0, 1);
  std::vector<cv::Point2d> seen;
  cv::projectPoints(card_mm, rotation, place, matrix, cv::noArray(), seen);
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

Photo draw(const EdgePicture& picture) {
  cv::Mat light;
  cv::warpPerspective(page_of(picture.slot_half_mm), light, page_to_picture(picture),
                      cv::Size(kWidth_px, kHeight_px), cv::INTER_LINEAR, cv::BORDER_CONSTANT,
                      kWhite);
  cv::GaussianBlur(light, light, cv::Size(0, 0), picture.blur_px);
  for (const Border& border : picture.borders) {
    add_border(light, picture, border,
               picture.look ? picture.look : blurred_step_look(picture.blur_px));
  }
  cv::Mat codes = picture.encode ? picture.encode(light) : srgb_of(light);
  cv::Mat noise(codes.size(), codes.type());
  cv::RNG(20).fill(noise, cv::RNG::NORMAL, 0.0, picture.noise / 255.0);
  codes += noise;
  Photo photo;
  photo.name = "drawn";
  codes.convertTo(photo.pixels, CV_8UC3, 255.0);
  return photo;
}

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
