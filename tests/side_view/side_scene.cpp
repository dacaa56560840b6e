#include "side_scene.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include <Eigen/Geometry>
#include <opencv2/aruco.hpp>
#include <opencv2/imgproc.hpp>

#include "evenbevel/units.hpp"

namespace evenbevel::test {
namespace {

constexpr int kColumns = 26, kRows = 18, kLaneTop = 5, kLaneRows = 8, kFirstId = 400;
constexpr double kPitchMm = 10.0, kRimMm = 12.0;
constexpr int kPerMm = 10;  // Of the drawn card.

bool in_lane(int row) { return row >= kLaneTop && row < kLaneTop + kLaneRows; }

/// The side card on its sheet, linear light, kPerMm px a mm, 12 mm of paper around the grid.
cv::Mat drawn_card(bool colour) {
  const cv::Scalar white(0.62, 0.62, 0.62), black(0.03, 0.03, 0.03);
  const cv::Scalar lane = colour ? cv::Scalar(0.030, 0.110, 0.006) : cv::Scalar(0.06, 0.06, 0.06);
  const int rim = static_cast<int>(kRimMm * kPerMm), cell = static_cast<int>(kPitchMm * kPerMm);
  cv::Mat card(kRows * cell + 2 * rim, kColumns * cell + 2 * rim, CV_32FC3, white);
  const auto dictionary = cv::aruco::getPredefinedDictionary(cv::aruco::DICT_5X5_1000);
  int id = kFirstId;
  for (int row = 0; row < kRows; ++row) {
    for (int column = 0; column < kColumns; ++column) {
      const cv::Rect place(rim + column * cell, rim + row * cell, cell, cell);
      if (in_lane(row)) {
        card(place).setTo(lane);
      } else if ((row + column) % 2 == 0) {
        card(place).setTo(black);
      } else {
        const int side = cell * 3 / 4 / 7 * 7, margin = (cell - side) / 2;
        cv::Mat marker;
        cv::aruco::drawMarker(dictionary, id++, side, marker, 1);
        const cv::Rect inner(place.x + margin, place.y + margin, side, side);
        card(inner).setTo(black, marker < 128);
      }
    }
  }
  return card;
}

/// Smooth noise along one direction, rough across: what a belt leaves.
class Scratches {
 public:
  Scratches(unsigned seed, double across_mm, double run_mm)
      : seed_(seed), across_(across_mm), run_(run_mm) {}

  double at(double along_mm, double across_mm) const {
    const double u = along_mm / run_, v = across_mm / across_;
    const double i = std::floor(u), j = std::floor(v);
    const double a = u - i, b = v - j;
    return (1 - b) * ((1 - a) * node(i, j) + a * node(i + 1, j)) +
           b * ((1 - a) * node(i, j + 1) + a * node(i + 1, j + 1));
  }

 private:
  double node(double i, double j) const {
    const auto wrapped = [](double k) {
      return static_cast<std::uint32_t>(static_cast<std::int32_t>(k));
    };
    auto h = (wrapped(i) * 73856093U) ^ (wrapped(j) * 19349663U) ^ (seed_ * 83492791U);
    h = (h ^ (h >> 13)) * 0x5bd1e995U;
    h = (h ^ (h >> 15)) * 0x27d4eb2dU;
    return static_cast<double>(h >> 8) / static_cast<double>(1U << 24) * 2.0 - 1.0;
  }

  unsigned seed_;
  double across_, run_;
};

struct Setting {
  const SideBlade& blade;
  Face face;
  const SideLook& look;
  Eigen::Vector2d origin, along, up;  ///< Card frame, of the blade's x and z.

  Eigen::Vector2d blade_xz(const Eigen::Vector2d& card) const {
    const Eigen::Vector2d d = card - origin;
    return {d.dot(along), d.dot(up)};
  }
};

/// Height of the visible surface over the card: flat above, falling from the bevel line.
double surface_mm(const Setting& s, double x, double z) {
  const double upper = s.blade.upper_mm(x);
  const double bevel = s.blade.bevel_z(s.face, x), edge = s.blade.edge_z(x);
  const double crease = s.blade.crease_x(s.face, z);
  if (z >= bevel || x <= crease) return upper;
  const double share = std::clamp((bevel - z) / std::max(1e-6, bevel - edge), 0.0, 1.0);
  const double depth = share * (0.5 * upper - 0.5 * s.blade.land_mm);
  constexpr double kRampMm = 3.0;
  const double ramp = std::clamp((x - crease) / kRampMm, 0.0, 1.0);
  return upper - depth * (1.0 - (1.0 - ramp) * (1.0 - ramp));
}

bool inside(const SideBlade& blade, double x, double z) {
  return x >= blade.handle_x_mm && x <= blade.tip_x_mm && z >= blade.edge_z(x) &&
         z <= blade.height_mm;
}

double brightness(const Setting& s, double x, double z) {
  const SideLook& look = s.look;
  if (look.surface) return look.surface(x, z, surface_mm(s, x, z));
  const double share = (x - s.blade.handle_x_mm) / (s.blade.tip_x_mm - s.blade.handle_x_mm);
  const double light = 1.0 + look.light_slope * (share - 0.5);
  const double crease = s.blade.crease_x(s.face, z);
  static constexpr double kRampMm = 2.0;
  const bool flat = z >= s.blade.bevel_z(s.face, x) || x <= crease;
  const Scratches scratches(look.seed + (flat ? 0U : 7U), look.texture_mm, look.texture_run_mm);
  const double rough = flat ? scratches.at(x, z) : scratches.at(z, x);
  double level = look.flat;
  if (!flat) {
    level = look.bevel_at_plunge + (look.bevel_at_tip - look.bevel_at_plunge) * share;
    const double ramp = (x - crease) / kRampMm;
    if (ramp < 1.0) level = look.ramp + (level - look.ramp) * ramp;
  }
  return level * light * (1.0 + look.texture * rough);
}

/// The brightness that a ray meets on the blade: its upper surface, or from beside it its wall.
std::optional<double> meet(const Setting& s, const Eigen::Vector3d& eye,
                           const Eigen::Vector3d& direction) {
  constexpr double kWall = 0.15;
  constexpr int kHeights = 8;
  const auto at = [&](double height) {
    const double length = (height - eye.z()) / direction.z();
    return s.blade_xz((eye + length * direction).head<2>());
  };
  double height = s.blade.thickness_mm;
  Eigen::Vector2d xz;
  for (int round = 0; round < 6; ++round) {
    xz = at(height);
    height = surface_mm(s, xz.x(), xz.y());
  }
  if (inside(s.blade, xz.x(), xz.y())) return brightness(s, xz.x(), xz.y());
  for (int k = 0; k < kHeights; ++k) {
    const double wall = s.blade.thickness_mm * (k + 0.02) / kHeights;
    const Eigen::Vector2d p = at(wall);
    const double upper = surface_mm(s, p.x(), p.y());
    const double lower = s.blade.upper_mm(p.x()) - upper;  // both faces are ground alike
    if (wall >= lower && wall <= upper && inside(s.blade, p.x(), p.y())) return kWall;
  }
  return std::nullopt;
}

Transform<Camera, Card> camera_pose(const SidePose& pose) {
  // Camera over the card: its x along the card's x, its y down the page.
  Eigen::Matrix3d R = Eigen::Vector3d(1.0, -1.0, -1.0).asDiagonal();
  R = Eigen::AngleAxisd(pose.roll_rad, Eigen::Vector3d::UnitZ()).toRotationMatrix() *
      Eigen::AngleAxisd(pose.tilt_x_rad, Eigen::Vector3d::UnitX()).toRotationMatrix() *
      Eigen::AngleAxisd(pose.tilt_y_rad, Eigen::Vector3d::UnitY()).toRotationMatrix() * R;
  // Looks at the card's middle, displaced by `aside`.
  Transform<Camera, Card> T;
  T.matrix.linear() = R;
  T.matrix.translation() = Eigen::Vector3d(0.0, 0.0, pose.distance_mm) -
                           R * Eigen::Vector3d(pose.aside_x_mm, pose.aside_y_mm, 0.0);
  return T;
}

CameraModel plain_camera(double finer) {
  CameraModel camera;
  camera.width_px = static_cast<int>(2400 * finer);
  camera.height_px = static_cast<int>(1720 * finer);
  camera.focal_px.setConstant(2350.0 * finer);
  camera.centre_px.x() = 1198.0 * finer, camera.centre_px.y() = 861.0 * finer;
  return camera;
}

void light_card(cv::Mat& card, const SideLook& look) {
  for (int row = 0; row < card.rows; ++row) {
    auto* out = card.ptr<cv::Vec3f>(row);
    for (int column = 0; column < card.cols; ++column) {
      const Eigen::Vector2d at((column + 0.5) / kPerMm - 0.5 * kColumns * kPitchMm - kRimMm,
                               0.5 * kRows * kPitchMm + kRimMm - (row + 0.5) / kPerMm);
      out[column] *= static_cast<float>(look.paper(at));
    }
  }
}

/// Card and table, without the blade.
cv::Mat render_card(const CameraModel& camera, const Transform<Camera, Card>& T,
                    const SideLook& look) {
  cv::Mat card = drawn_card(look.colour);
  if (look.paper) light_card(card, look);
  std::array<cv::Point2f, 4> from, to;
  const double half_x = 0.5 * kColumns * kPitchMm + kRimMm,
               half_y = 0.5 * kRows * kPitchMm + kRimMm;
  const std::array<Eigen::Vector2d, 4> corners = {
      Eigen::Vector2d(-half_x, half_y), Eigen::Vector2d(half_x, half_y),
      Eigen::Vector2d(half_x, -half_y), Eigen::Vector2d(-half_x, -half_y)};
  for (std::size_t i = 0; i < 4; ++i) {
    const Eigen::Vector3d p = T.matrix * Eigen::Vector3d(corners[i].x(), corners[i].y(), 0.0);
    to[i] = {static_cast<float>(camera.focal_px.x() * p.x() / p.z() + camera.centre_px.x()),
             static_cast<float>(camera.focal_px.y() * p.y() / p.z() + camera.centre_px.y())};
    from[i] = {static_cast<float>((corners[i].x() + half_x) * kPerMm - 0.5),
               static_cast<float>((half_y - corners[i].y()) * kPerMm - 0.5)};
  }
  const cv::Mat H = cv::getPerspectiveTransform(from.data(), to.data());
  cv::Mat soft, picture(camera.height_px, camera.width_px, CV_32FC3, cv::Scalar(0.05, 0.09, 0.13));
  cv::GaussianBlur(card, soft, {}, 0.5);
  cv::warpPerspective(soft, picture, H, picture.size(), cv::INTER_LINEAR, cv::BORDER_TRANSPARENT);
  return picture;
}

void lay_blade(cv::Mat& picture, const CameraModel& camera, const Transform<Camera, Card>& T,
               const Setting& s) {
  const Eigen::Matrix3d R_card_camera = T.matrix.linear().transpose();
  const Eigen::Vector3d eye = T.inverse().matrix.translation();
  cv::Rect box(0, 0, picture.cols, picture.rows);
  Eigen::AlignedBox2d seen;
  for (const double x : {s.blade.handle_x_mm, s.blade.tip_x_mm}) {
    for (const double z : {-3.0, s.blade.height_mm + 3.0}) {
      const Eigen::Vector2d xy = s.origin + x * s.along + z * s.up;
      const Eigen::Vector3d p = T.matrix * Eigen::Vector3d(xy.x(), xy.y(), 1.5);
      seen.extend(Eigen::Vector2d(camera.focal_px.x() * p.x() / p.z() + camera.centre_px.x(),
                                  camera.focal_px.y() * p.y() / p.z() + camera.centre_px.y()));
    }
  }
  box &= cv::Rect(
      cv::Point(static_cast<int>(seen.min().x()) - 25, static_cast<int>(seen.min().y()) - 25),
      cv::Point(static_cast<int>(seen.max().x()) + 25, static_cast<int>(seen.max().y()) + 25));
  constexpr int kSide = 3;
  for (int row = box.y; row < box.y + box.height; ++row) {
    auto* out = picture.ptr<cv::Vec3f>(row);
    for (int column = box.x; column < box.x + box.width; ++column) {
      double sum = 0.0;
      int hits = 0;
      for (int k = 0; k < kSide * kSide; ++k) {
        const double x = column + (k % kSide + 0.5) / kSide - 0.5;
        const double y = row + (k / kSide + 0.5) / kSide - 0.5;
        const Eigen::Vector3d direction =
            R_card_camera * Eigen::Vector3d((x - camera.centre_px.x()) / camera.focal_px.x(),
                                            (y - camera.centre_px.y()) / camera.focal_px.y(), 1.0);
        const std::optional<double> light = meet(s, eye, direction);
        if (light) sum += *light, ++hits;
      }
      if (hits == 0) continue;
      const auto share = static_cast<float>(hits) / (kSide * kSide);
      const auto steel = static_cast<float>(sum / (kSide * kSide));
      out[column] = (1.0F - share) * out[column] + cv::Vec3f(steel, steel, steel);
    }
  }
}

/// Soft shadow of the blade on the lane.
void darken_lane(cv::Mat& picture, const CameraModel& camera, const Transform<Camera, Card>& T,
                 const Setting& s) {
  if (s.look.shadow <= 0.0) return;
  std::vector<cv::Point> outline;
  const auto add = [&](double x, double z) {
    const Eigen::Vector2d xy = s.origin + x * s.along + (z - 1.5) * s.up;
    const Eigen::Vector3d p = T.matrix * Eigen::Vector3d(xy.x(), xy.y(), 0.0);
    outline.emplace_back(
        static_cast<int>(camera.focal_px.x() * p.x() / p.z() + camera.centre_px.x()),
        static_cast<int>(camera.focal_px.y() * p.y() / p.z() + camera.centre_px.y()));
  };
  for (double x = s.blade.handle_x_mm; x <= s.blade.tip_x_mm; x += 2.0) add(x, s.blade.edge_z(x));
  add(s.blade.tip_x_mm, s.blade.height_mm), add(s.blade.handle_x_mm, s.blade.height_mm);
  cv::Mat mask(picture.size(), CV_32FC1, cv::Scalar(0.0));
  cv::fillPoly(mask, std::vector<std::vector<cv::Point>>{outline}, cv::Scalar(s.look.shadow));
  cv::blur(mask, mask, {25, 25});
  cv::Mat three;
  cv::merge(std::vector<cv::Mat>(3, 1.0 - mask), three);
  picture = picture.mul(three);
}

}  // namespace

double SideBlade::edge_z(double x_mm) const {
  const double share = std::max(0.0, x_mm - belly_x_mm) / (tip_x_mm - belly_x_mm);
  return height_mm * share * share;
}

double SideBlade::bevel_z(Face face, double x_mm) const {
  const SideFaceShape& shape = face == Face::left ? left : right;
  const double straight = shape.bevel_mm + shape.bevel_slope * x_mm;
  const double share = std::max(0.0, x_mm - belly_x_mm) / (tip_x_mm - belly_x_mm);
  return straight + (height_mm - straight) * share * share * share;
}

double SideBlade::crease_x(Face face, double z_mm) const {
  const SideFaceShape& shape = face == Face::left ? left : right;
  const double lean = std::tan(shape.plunge_lean_rad);
  // Straight up to where the arc begins; the arc turns to the bevel line, taken as level there.
  // It turns by a right angle less the lean, whose half's tangent times the lean's cosine is:
  const double c = 1.0 / std::sqrt(1.0 + lean * lean);
  const double begin = shape.bevel_mm - shape.plunge_radius_mm * (1.0 - lean * c);
  const double straight = shape.plunge_x_mm + lean * z_mm;
  if (z_mm <= begin) return straight;
  const Eigen::Vector2d at(shape.plunge_x_mm + lean * begin, begin);
  const Eigen::Vector2d across(c, -lean * c);
  const Eigen::Vector2d centre = at + shape.plunge_radius_mm * across;
  const double rise = std::min(z_mm - centre.y(), shape.plunge_radius_mm);
  return centre.x() -
         std::sqrt(std::max(0.0, shape.plunge_radius_mm * shape.plunge_radius_mm - rise * rise));
}

double SideBlade::upper_mm(double x_mm) const {
  const double share = (x_mm - handle_x_mm) / (tip_x_mm - handle_x_mm);
  return thickness_mm + (tip_thickness_mm - thickness_mm) * share;
}

Eigen::Vector2d SidePicture::pixel(double x_mm, double z_mm, double height_mm) const {
  const Eigen::Vector2d xy = origin + x_mm * along + z_mm * up;
  const Eigen::Vector3d p = T_camera_card.matrix * Eigen::Vector3d(xy.x(), xy.y(), height_mm);
  return {camera.focal_px.x() * p.x() / p.z() + camera.centre_px.x(),
          camera.focal_px.y() * p.y() / p.z() + camera.centre_px.y()};
}

SideLie side_lie(const SideBlade& blade, Face face, const SidePose& pose) {
  // The left face shows with its tip to the left when the spine is up.
  const double heading = pose.turn_rad + (face == Face::left ? kPi : 0.0);
  const Eigen::Vector2d along(std::cos(heading), std::sin(heading));
  const double hand = face == Face::left ? -1.0 : 1.0;
  const Eigen::Vector2d up = hand * Eigen::Vector2d(-along.y(), along.x());
  const Eigen::Vector2d middle(0.5 * (blade.handle_x_mm + blade.tip_x_mm), 0.5 * blade.height_mm);
  const Eigen::Vector2d origin =
      Eigen::Vector2d(pose.card_x_mm, pose.card_y_mm) - middle.x() * along - middle.y() * up;
  return {origin, along, up};
}

Eigen::Vector3d side_eye(const SidePose& pose) {
  return camera_pose(pose).inverse().matrix.translation();
}

SidePicture take_side_picture(const SideBlade* blade, Face face, const SideLook& look,
                              const SidePose& pose, const Imaging& imaging, std::mt19937_64& rng) {
  SidePicture result;
  result.camera = plain_camera(pose.finer);
  const Transform<Camera, Card> T = camera_pose(pose);
  cv::Mat picture = render_card(result.camera, T, look);
  if (blade != nullptr) {
    const auto [origin, along, up] = side_lie(*blade, face, pose);
    result.T_camera_card = T, result.origin = origin, result.along = along, result.up = up;
    const Setting setting{*blade, face, look, origin, along, up};
    darken_lane(picture, result.camera, T, setting);
    lay_blade(picture, result.camera, T, setting);
  }
  result.photo.name = face == Face::left ? "left.jpg" : "right.jpg";
  result.photo.pixels = take_picture({picture, 0.3}, imaging, rng);
  return result;
}

}  // namespace evenbevel::test
