#include "flat_face.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <future>

#include <opencv2/imgproc.hpp>

#include "evenbevel/trace.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel::finish {
namespace {

constexpr int kNodePx = 16;      // The lens draws a straight, even grid over so few.
constexpr double kRimMm = 0.8;   // Rims glint, and burrs hang on them.
constexpr double kLineMm = 0.5;  // So do bevel and plunge lines, and they are seen to 0.2 mm.
/// What a scratch is compared with: the side of a square, its mean's mean's mean, near a Gaussian
/// of half that. A plain mean over a square ends sharply: midway between two bright lines as far
/// apart as its side it left a bright line where nothing was.
constexpr double kAroundMm = 2.0;

FlatGrid flat_grid(const LyingFace& face) {
  constexpr double kMarginMm = 1.0;
  const side::Curve &edge = face.edge, &spine = face.spine;
  double low = 1e9, high = -1e9;
  for (const double z : edge.z_mm) low = std::isnan(z) ? low : std::min(low, z);
  for (const double z : spine.z_mm) high = std::isnan(z) ? high : std::max(high, z);
  const double first = std::max(edge.first_mm, spine.first_mm);
  const double last = std::min(edge.x(edge.z_mm.size()), spine.x(spine.z_mm.size())) + kMarginMm;
  FlatGrid grid{first - kMarginMm, high + kMarginMm, 1.0 / face.reading.look.scale_px_per_mm};
  grid.columns = std::max(1, static_cast<int>((last - grid.left_mm) / grid.step_mm));
  grid.rows = std::max(1, static_cast<int>((grid.top_mm - low + kMarginMm) / grid.step_mm));
  return grid;
}

/// Distance to the nearest place of a broken line, mm; up to `most` is told apart.
void draw_near(cv::Mat& mask, const FlatGrid& grid, std::span<const Eigen::Vector2d> line_mm,
               double reach_mm) {
  std::vector<cv::Point> points;
  for (const Eigen::Vector2d& p : line_mm) {
    const Eigen::Vector2d q = grid.px(p);
    points.emplace_back(static_cast<int>(std::lround(q.x())), static_cast<int>(std::lround(q.y())));
  }
  const int thick = std::max(1, static_cast<int>(std::lround(2.0 * reach_mm / grid.step_mm)));
  cv::polylines(mask, points, false, cv::Scalar(kNotLookedAt), thick);
}

std::vector<Eigen::Vector2d> points_of(const side::Curve& curve) {
  std::vector<Eigen::Vector2d> points;
  for (std::size_t i = 0; i < curve.z_mm.size(); ++i) {
    if (!std::isnan(curve.z_mm[i])) points.emplace_back(curve.x(i), curve.z_mm[i]);
  }
  return points;
}

/// Surface at every pixel between edge and spine.
cv::Mat whole_face(const LyingFace& face, const FlatGrid& grid) {
  cv::Mat whole(grid.rows, grid.columns, CV_8UC1, cv::Scalar(kNotLookedAt));
  for (int column = 0; column < grid.columns; ++column) {
    const double x = grid.mm({column, 0.0}).x();
    const double low = face.edge.at(x), high = face.spine.at(x);
    if (std::isnan(low) || std::isnan(high)) continue;
    const int from = std::max(0, static_cast<int>(grid.px({x, high}).y()));
    const int to = std::min(grid.rows - 1, static_cast<int>(grid.px({x, low}).y()));
    for (int row = from; row <= to; ++row) {
      const double z = grid.mm({0.0, row}).y();
      whole.at<uchar>(row, column) = face.on_bevel({x, z}) ? kBevel : kFlat;
    }
  }
  return whole;
}

void leave_out(cv::Mat& surface, const FlatGrid& grid, const FacePart& part) {
  const Eigen::Vector2d a = grid.px({part.from_x_mm, part.to_z_mm});
  const Eigen::Vector2d b = grid.px({part.to_x_mm, part.from_z_mm});
  const cv::Rect box(cv::Point(static_cast<int>(a.x()), static_cast<int>(a.y())),
                     cv::Point(static_cast<int>(b.x()) + 1, static_cast<int>(b.y()) + 1));
  surface(box & cv::Rect({}, surface.size())).setTo(kNotLookedAt);
}

cv::Mat looked_at(const LyingFace& face, const FlatGrid& grid, const cv::Mat& whole) {
  cv::Mat inside;
  const int rim = static_cast<int>(std::ceil(kRimMm / grid.step_mm));
  cv::erode(whole > 0, inside,
            cv::getStructuringElement(cv::MORPH_ELLIPSE, {2 * rim + 1, 2 * rim + 1}), {-1, -1}, 1,
            cv::BORDER_CONSTANT, cv::Scalar(0));
  cv::Mat surface(whole.size(), CV_8UC1, cv::Scalar(kNotLookedAt));
  whole.copyTo(surface, inside);
  draw_near(surface, grid, points_of(face.bevel), kLineMm);
  draw_near(surface, grid, face.plunge_mm, kLineMm);
  return surface;
}

/// Places of the grid's pixels in the photo.
cv::Mat map_of(const LyingFace& face, std::size_t photo, const FlatGrid& grid) {
  const int across = (grid.columns + kNodePx - 1) / kNodePx + 1;
  const int down = (grid.rows + kNodePx - 1) / kNodePx + 1;
  cv::Mat nodes(down, across, CV_32FC2), map;
  for (int j = 0; j < down; ++j) {
    for (int i = 0; i < across; ++i) {
      const Eigen::Vector2d q = face.pixel(
          grid.mm({static_cast<double>(i * kNodePx), static_cast<double>(j * kNodePx)}), photo);
      nodes.at<cv::Vec2f>(j, i) = {static_cast<float>(q.x()), static_cast<float>(q.y())};
    }
  }
  map.create(grid.rows, grid.columns, CV_32FC2);
  for (int row = 0; row < grid.rows; ++row) {
    const int j = row / kNodePx;
    const float b = static_cast<float>(row % kNodePx) / kNodePx;
    auto* out = map.ptr<cv::Vec2f>(row);
    for (int column = 0; column < grid.columns; ++column) {
      const int i = column / kNodePx;
      const float a = static_cast<float>(column % kNodePx) / kNodePx;
      const cv::Vec2f upper =
          (1.0F - a) * nodes.at<cv::Vec2f>(j, i) + a * nodes.at<cv::Vec2f>(j, i + 1);
      const cv::Vec2f lower =
          (1.0F - a) * nodes.at<cv::Vec2f>(j + 1, i) + a * nodes.at<cv::Vec2f>(j + 1, i + 1);
      out[column] = (1.0F - b) * upper + b * lower;
    }
  }
  return map;
}

/// Code 0..1 of the face, laid flat.
cv::Mat sampled_code(const cv::Mat& pixels, cv::Mat map) {
  std::array<cv::Mat, 2> xy;
  cv::split(map, xy.data());
  double left = 0.0, right = 0.0, top = 0.0, bottom = 0.0;
  cv::minMaxLoc(xy[0], &left, &right);
  cv::minMaxLoc(xy[1], &top, &bottom);
  constexpr int kRimPx = 4;
  const cv::Rect box =
      cv::Rect(cv::Point(static_cast<int>(left) - kRimPx, static_cast<int>(top) - kRimPx),
               cv::Point(static_cast<int>(right) + kRimPx, static_cast<int>(bottom) + kRimPx)) &
      cv::Rect({}, pixels.size());
  if (box.empty()) return cv::Mat::zeros(map.size(), CV_32FC1);
  cv::Mat grey = pixels(box), out;
  if (grey.channels() == 3) cv::cvtColor(grey, grey, cv::COLOR_BGR2GRAY);
  grey.convertTo(grey, CV_32F, grey.depth() == CV_8U ? 1.0 / 255.0 : 1.0 / 65535.0);
  map -= cv::Scalar(box.x, box.y);
  cv::remap(grey, out, map, cv::noArray(), cv::INTER_CUBIC, cv::BORDER_CONSTANT);
  return out;
}

void to_linear(cv::Mat& code) {
  constexpr int kSteps = 4096;
  static const std::vector<float> kTable = [] {
    std::vector<float> table(kSteps + 2);
    for (std::size_t i = 0; i < table.size(); ++i) {
      table[i] = static_cast<float>(linear_light(static_cast<double>(i) / kSteps));
    }
    return table;
  }();
  for (int row = 0; row < code.rows; ++row) {
    float* value = code.ptr<float>(row);
    for (int i = 0; i < code.cols; ++i) {
      const float at = std::clamp(value[i], 0.0F, 1.0F) * kSteps;
      const auto k = static_cast<std::size_t>(at);
      value[i] = kTable[k] + (at - static_cast<float>(k)) * (kTable[k + 1] - kTable[k]);
    }
  }
}

cv::Mat smoothed(const cv::Mat& values, int side) {
  constexpr int kTimes = 3;
  cv::Mat sum = values;
  for (int k = 0; k < kTimes; ++k) {
    cv::boxFilter(sum, sum, CV_32F, {side, side}, {-1, -1}, true, cv::BORDER_CONSTANT);
  }
  return sum;
}

/// Mean about each place, of what has weight.
cv::Mat around(const cv::Mat& values, const cv::Mat& weight, int side) {
  constexpr float kNone = 1e-6F;
  return smoothed(values.mul(weight), side) / (smoothed(weight, side) + kNone);
}

/// The light around, less what stands out of it by more than a fifth: a bright line would otherwise
/// lie in a valley of its own making, whose slopes are a lay to the structure tensor.
cv::Mat even_level(const cv::Mat& light, const cv::Mat& weight, int side) {
  constexpr float kMost = 1.2F, kLeast = 0.8F;
  const cv::Mat all = around(light, weight, side);
  cv::Mat evened;
  cv::min(light, kMost * all, evened);
  cv::max(evened, kLeast * all, evened);
  return around(evened, weight, side);
}

/// Of one surface alone: flat and bevel shine as differently as they lie.
cv::Mat level_of(const cv::Mat& light, const cv::Mat& surface, int side) {
  cv::Mat level(light.size(), CV_32FC1, cv::Scalar(0.0));
  for (const Surface one : {kFlat, kBevel}) {
    const cv::Mat here = surface == one;
    cv::Mat weight;
    here.convertTo(weight, CV_32F, 1.0 / 255.0);
    even_level(light, weight, side).copyTo(level, here);
  }
  return level;
}

/// Goes on beyond what is looked at as it is beside it: a sudden end is a line to the filters.
void continue_beyond(cv::Mat& light, const cv::Mat& looked_at) {
  constexpr int kSidePx = 9;  // Three of them reach 12 px: farther than the filters across.
  cv::Mat weight;
  looked_at.convertTo(weight, CV_32F, 1.0 / 255.0);
  around(light, weight, kSidePx).copyTo(light, ~looked_at);
}

FlatPhoto flat_photo(const LyingFace& face, std::size_t photo, const FlatGrid& grid,
                     const cv::Mat& surface) {
  constexpr double kBlown =
      0.3;  // Of the surroundings' pixels: then a scratch has no room to shine.
  constexpr double kDark = 0.004;  // Linear; an 8-bit code's own step is a tenth of that.
  const SeenPhoto& seen = face.photos[photo];
  FlatPhoto flat;
  flat.blur_px = seen.softness_px;
  cv::Mat light = sampled_code(seen.photo->pixels, map_of(face, photo, grid));
  cv::Mat full, weight;
  cv::Mat(light > kClipEncoded).convertTo(full, CV_32F, 1.0 / 255.0);
  const cv::Mat face_at = surface > 0;
  face_at.convertTo(weight, CV_32F, 1.0 / 255.0);
  to_linear(light);
  const int side = static_cast<int>(kAroundMm / grid.step_mm) | 1;
  const cv::Mat level = level_of(light, surface, side);
  flat.blown = around(full, weight, side) > kBlown;
  flat.dark = level < kDark;
  flat.light = light / (level + 1e-4F) - 1.0F;
  // A crumb may be ever so bright: its say in a line ends here.
  constexpr float kMost = 4.0F;
  cv::min(flat.light, kMost, flat.light);
  continue_beyond(flat.light, face_at & ~flat.blown & ~flat.dark);
  flat.lamp = find_lamp(seen.photo->pixels, seen.camera, seen.pose.T_camera_card);
  // The paper lies aslant to the lamp; what stands up from the face is met squarely.
  const double paper = paper_light(seen.photo->pixels, seen.camera, seen.pose.T_camera_card);
  flat.level = level / (flat.lamp ? paper / std::sin(flat.lamp->elevation_rad) : paper);
  if (flat.lamp) {
    const side::FacePlane& plane = face.reading.plane;
    const Eigen::Vector2d origin = plane.card({0.0, 0.0});
    const Eigen::Vector2d along = plane.card({1.0, 0.0}) - origin;
    const Eigen::Vector2d up = plane.card({0.0, 1.0}) - origin;
    const Eigen::Vector2d toward(std::cos(flat.lamp->azimuth_rad),
                                 std::sin(flat.lamp->azimuth_rad));
    flat.lamp->azimuth_rad = std::remainder(
        std::atan2(toward.dot(up), toward.dot(along)) - face.reading.axes.turn_rad, 2.0 * kPi);
  }
  return flat;
}

}  // namespace

FlatFace lay_flat(const LyingFace& face, std::span<const FacePart> left_out) {
  FlatFace flat;
  flat.grid = flat_grid(face);
  flat.whole = whole_face(face, flat.grid);
  for (const FacePart& part : left_out) leave_out(flat.whole, flat.grid, part);
  flat.surface = looked_at(face, flat.grid, flat.whole);
  std::vector<std::future<FlatPhoto>> coming;
  for (std::size_t i = 0; i < face.photos.size(); ++i) {
    coming.push_back(std::async(i % 2 == 0 ? std::launch::async : std::launch::deferred,
                                [&, i] { return flat_photo(face, i, flat.grid, flat.surface); }));
  }
  for (auto& photo : coming) flat.photos.push_back(photo.get());
  return flat;
}

}  // namespace evenbevel::finish
