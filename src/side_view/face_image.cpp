#include "face_image.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include <opencv2/imgproc.hpp>

#include "evenbevel/trace.hpp"

namespace evenbevel::side {
namespace {

constexpr int kTile = 16;  // Samples; over so few the lens draws a straight, even grid.

/// Places in the photo of the grid's nodes, in a picture whose px are q = (q_px - shift) * scale.
cv::Mat places(const FacePlane& plane, const Grid& grid, const Eigen::Vector2d& shift,
               double scale) {
  const int tiles_x = (grid.columns + kTile - 1) / kTile;
  const int tiles_y = (grid.rows + kTile - 1) / kTile;
  std::vector<Eigen::Vector2f> nodes;
  nodes.reserve(static_cast<std::size_t>((tiles_x + 1) * (tiles_y + 1)));
  for (int j = 0; j <= tiles_y; ++j) {
    for (int i = 0; i <= tiles_x; ++i) {
      const Eigen::Vector2d xz(grid.left_mm + i * kTile * grid.step_mm,
                               grid.top_mm - j * kTile * grid.step_mm);
      nodes.emplace_back(((plane.pixel(xz) - shift) * scale).cast<float>());
    }
  }
  cv::Mat map(grid.rows, grid.columns, CV_32FC2);
  for (int row = 0; row < grid.rows; ++row) {
    const int j = row / kTile;
    const float b = static_cast<float>(row % kTile) / kTile;
    auto* out = map.ptr<cv::Vec2f>(row);
    for (int i = 0; i < tiles_x; ++i) {
      const auto at = static_cast<std::size_t>(j * (tiles_x + 1) + i);
      const auto below = at + static_cast<std::size_t>(tiles_x + 1);
      const Eigen::Vector2f first = (1.0F - b) * nodes[at] + b * nodes[below];
      const Eigen::Vector2f last = (1.0F - b) * nodes[at + 1] + b * nodes[below + 1];
      const Eigen::Vector2f step = (last - first) / static_cast<float>(kTile);
      const int end = std::min(kTile, grid.columns - i * kTile);
      for (int k = 0; k < end; ++k) {
        const Eigen::Vector2f q = first + static_cast<float>(k) * step;
        out[i * kTile + k] = {q.x(), q.y()};
      }
    }
  }
  return map;
}

const std::array<float, 256>& linear_table() {
  static const std::array<float, 256> kTable = [] {
    std::array<float, 256> table{};
    for (std::size_t i = 0; i < table.size(); ++i) {
      table[i] = static_cast<float>(linear_light(static_cast<double>(i) / 255.0));
    }
    return table;
  }();
  return kTable;
}

template <class Value>
float linear_of(Value value) {
  if constexpr (sizeof(Value) == 1) return linear_table()[value];
  return static_cast<float>(linear_light(static_cast<double>(value) / 65535.0));
}

template <class Value>
constexpr float kFull = sizeof(Value) == 1 ? 255.0F : 65535.0F;

template <class Value, int kChannels>
void fill_row(const Value* from, int columns, float red_per_green, float level, float d_level,
              float* code, float* light, float* steel) {
  for (int i = 0; i < columns; ++i) {
    const Value* q = from + static_cast<std::ptrdiff_t>(i) * kChannels;
    const float lane = std::max(1e-4F, level + d_level * static_cast<float>(i));
    if constexpr (kChannels == 3) {
      code[i] = (0.114F * q[0] + 0.587F * q[1] + 0.299F * q[2]) / kFull<Value>;
      if (red_per_green > 0.0F) {
        steel[i] = (linear_of(q[2]) - red_per_green * linear_of(q[1])) / lane;
      } else {
        steel[i] = linear_of(q[1]) / lane - 1.0F;
      }
    } else {
      code[i] = q[0] / kFull<Value>;
      steel[i] = linear_of(q[0]) / lane - 1.0F;
    }
    light[i] = static_cast<float>(linear_light(static_cast<double>(code[i])));
  }
}

template <class Value, int kChannels>
void fill(const cv::Mat& picture, const FacePlane& plane, const LaneColour& lane,
          FaceImage& image) {
  const auto ratio = static_cast<float>(lane.coloured ? lane.red_per_green : -1.0);
  for (int row = 0; row < picture.rows; ++row) {
    const double z = image.z(row);
    const double first = lane.level_at(plane.card({image.x(0), z}));
    const double second = lane.level_at(plane.card({image.x(1), z}));
    fill_row<Value, kChannels>(picture.ptr<Value>(row), picture.cols, ratio,
                               static_cast<float>(first), static_cast<float>(second - first),
                               image.code.ptr<float>(row), image.light.ptr<float>(row),
                               image.steel.ptr<float>(row));
  }
}

}  // namespace

cv::Mat sampled(const cv::Mat& pixels, const FacePlane& plane, const Grid& grid) {
  cv::Mat out;
  cv::remap(pixels, out, places(plane, grid, {0.0, 0.0}, 1.0), cv::noArray(), cv::INTER_LINEAR,
            cv::BORDER_CONSTANT);
  return out;
}

cv::Mat sampled_coarsely(const cv::Mat& pixels, const FacePlane& plane, const Grid& grid) {
  const double right = grid.left_mm + grid.columns * grid.step_mm;
  const double bottom = grid.top_mm - grid.rows * grid.step_mm;
  Eigen::AlignedBox2d box;
  for (const double x : {grid.left_mm, right}) {
    for (const double z : {grid.top_mm, bottom}) box.extend(plane.pixel({x, z}));
  }
  constexpr int kRimPx = 8;
  const cv::Rect wanted(
      cv::Point(static_cast<int>(box.min().x()) - kRimPx, static_cast<int>(box.min().y()) - kRimPx),
      cv::Point(static_cast<int>(box.max().x()) + kRimPx,
                static_cast<int>(box.max().y()) + kRimPx));
  const cv::Rect region = wanted & cv::Rect({}, pixels.size());
  if (region.empty()) return cv::Mat::zeros(grid.rows, grid.columns, pixels.type());
  const double middle_x = grid.left_mm + 0.5 * grid.columns * grid.step_mm;
  const double middle_z = grid.top_mm - 0.5 * grid.rows * grid.step_mm;
  const int factor =
      std::max(1, static_cast<int>(grid.step_mm * plane.px_per_mm({middle_x, middle_z})));
  const cv::Size size(region.width / factor, region.height / factor);
  if (size.empty()) return cv::Mat::zeros(grid.rows, grid.columns, pixels.type());
  cv::Mat small;
  cv::resize(pixels(cv::Rect(region.tl(), size * factor)), small, size, 0, 0, cv::INTER_AREA);
  // (q + 1/2) / factor - 1/2, counted from the region's corner.
  const double half = 0.5 * (factor - 1);
  const cv::Mat map =
      places(plane, grid, {region.x + half, region.y + half}, 1.0 / static_cast<double>(factor));
  cv::Mat out;
  cv::remap(small, out, map, cv::noArray(), cv::INTER_LINEAR, cv::BORDER_CONSTANT);
  return out;
}

FaceImage face_image(const cv::Mat& pixels, const FacePlane& plane, const LaneColour& lane,
                     const Grid& grid) {
  const cv::Mat picture = sampled(pixels, plane, grid);
  FaceImage image;
  image.left_mm = grid.left_mm, image.top_mm = grid.top_mm, image.step_mm = grid.step_mm;
  for (cv::Mat* channel : {&image.code, &image.light, &image.steel})
    channel->create(picture.size(), CV_32FC1);
  if (picture.depth() == CV_8U && picture.channels() == 3)
    fill<uchar, 3>(picture, plane, lane, image);
  if (picture.depth() == CV_8U && picture.channels() == 1)
    fill<uchar, 1>(picture, plane, lane, image);
  if (picture.depth() == CV_16U && picture.channels() == 3)
    fill<ushort, 3>(picture, plane, lane, image);
  if (picture.depth() == CV_16U && picture.channels() == 1)
    fill<ushort, 1>(picture, plane, lane, image);
  return image;
}

Eigen::Vector3f light_at(const cv::Mat& pixels, int row, int column) {
  const int channels = pixels.channels();
  Eigen::Vector3f light;
  for (int channel = 0; channel < 3; ++channel) {
    const int at = column * channels + (channels == 3 ? channel : 0);
    light[channel] = pixels.depth() == CV_8U ? linear_of(pixels.ptr<uchar>(row)[at])
                                             : linear_of(pixels.ptr<ushort>(row)[at]);
  }
  return light;
}

}  // namespace evenbevel::side
