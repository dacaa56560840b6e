#include "lay.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "evenbevel/fit.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel::finish {
namespace {

constexpr double kBlockMm = 5.0;
constexpr double kFallsTo = 0.2;  // ISO 25178-2's default for Str.

struct Block {
  double direction_rad = 0.0, coherence = 0.0;
  /// Its coherence, but no more than the middle one: where scratches lie, blocks are few and their
  /// directions sure; the lay is what most of them share.
  double vote = 0.0;
};

/// Blocks of which three quarters lie on the surface.
template <class Visit>
void for_blocks(const FlatFace& face, Surface surface, int side, Visit visit) {
  for (int row = 0; row + side <= face.grid.rows; row += side) {
    for (int column = 0; column + side <= face.grid.columns; column += side) {
      const cv::Rect box(column, row, side, side);
      const cv::Mat mask = face.surface(box) == surface;
      if (cv::countNonZero(mask) > 3 * side * side / 4) visit(box, mask);
    }
  }
}

std::vector<Block> blocks_of(const FlatFace& face, Surface surface) {
  std::vector<Block> blocks;
  const int side = std::max(16, static_cast<int>(kBlockMm / face.grid.step_mm));
  for_blocks(face, surface, side, [&](const cv::Rect& box, const cv::Mat& mask) {
    StructureTensor sum;
    for (const FlatPhoto& photo : face.photos) {
      const StructureTensor tensor = structure_tensor(photo.light(box), mask);
      sum.xx += tensor.xx, sum.xy += tensor.xy, sum.yy += tensor.yy;
    }
    if (sum.xx + sum.yy > 0.0) blocks.push_back({sum.direction_rad(), sum.coherence()});
  });
  if (blocks.empty()) return blocks;
  std::vector<double> all;
  for (const Block& block : blocks) all.push_back(block.coherence);
  const double most = median(all);
  for (Block& block : blocks) block.vote = std::min(block.coherence, most);
  return blocks;
}

/// Blocks within reach of a direction, by their votes or their coherence.
double support(const std::vector<Block>& blocks, double direction_rad, double reach_rad,
               double Block::*by) {
  double sum = 0.0;
  for (const Block& block : blocks) {
    if (between_axes(block.direction_rad, direction_rad) < reach_rad) sum += block.*by;
  }
  return sum;
}

double mean_direction(const std::vector<Block>& blocks, double about_rad, double reach_rad) {
  double c = 0.0, s = 0.0;
  for (const Block& block : blocks) {
    if (between_axes(block.direction_rad, about_rad) >= reach_rad) continue;
    c += block.vote * std::cos(2.0 * block.direction_rad);
    s += block.vote * std::sin(2.0 * block.direction_rad);
  }
  return axis_of(0.5 * std::atan2(s, c));
}

float middle_power(const cv::Mat& values, const cv::Mat& mask) {
  std::vector<float> all;
  for (int row = 0; row < values.rows; ++row) {
    const float* value = values.ptr<float>(row);
    const uchar* of = mask.ptr(row);
    for (int i = 0; i < values.cols; ++i) {
      if (of[i] != 0) all.push_back(value[i]);
    }
  }
  if (all.empty()) return 0.0F;
  const auto at = all.begin() + static_cast<std::ptrdiff_t>(all.size() / 2);
  std::nth_element(all.begin(), at, all.end());
  return *at;
}

/// Autocorrelation, its middle in the picture's, 1 there.
cv::Mat autocorrelation(const cv::Mat& light) {
  const cv::Size size(2 * light.cols, 2 * light.rows);
  cv::Mat padded(size, CV_32FC1, cv::Scalar(0.0)), spectrum, power, acf;
  cv::Mat centred = light - cv::mean(light)[0];
  centred.copyTo(padded(cv::Rect({}, light.size())));
  cv::dft(padded, spectrum, cv::DFT_COMPLEX_OUTPUT);
  cv::mulSpectrums(spectrum, spectrum, power, 0, true);
  cv::dft(power, acf, cv::DFT_INVERSE | cv::DFT_REAL_OUTPUT | cv::DFT_SCALE);
  const float most = acf.at<float>(0, 0);
  if (most <= 0.0F) return {};
  cv::Mat middle(light.rows, light.cols, CV_32FC1);
  for (int row = 0; row < light.rows; ++row) {
    for (int column = 0; column < light.cols; ++column) {
      const int dy = row - light.rows / 2, dx = column - light.cols / 2;
      // The fewer pairs lie so far apart, the larger their share of the whole.
      const double pairs = (1.0 - std::abs(dx) / static_cast<double>(light.cols)) *
                           (1.0 - std::abs(dy) / static_cast<double>(light.rows));
      middle.at<float>(row, column) = static_cast<float>(
          acf.at<float>((dy + size.height) % size.height, (dx + size.width) % size.width) /
          (most * pairs));
    }
  }
  return middle;
}

/// Distance at which it has fallen to kFallsTo along one direction; infinite: not within reach.
double falls_at(const cv::Mat& acf, double direction_rad, double reach_px) {
  constexpr double kStep = 0.25;
  const double c = std::cos(direction_rad), s = std::sin(direction_rad);
  const int middle_x = acf.cols / 2, middle_y = acf.rows / 2;
  double before = 1.0;
  for (double r = kStep; r < reach_px; r += kStep) {
    const double x = middle_x + r * c, y = middle_y - r * s;
    const double value = side::between(acf, x, y);
    if (value <= kFallsTo) return r - kStep * (kFallsTo - value) / (before - value);
    before = value;
  }
  return std::numeric_limits<double>::infinity();
}

std::optional<double> ratio_of(const cv::Mat& acf) {
  const double reach = 0.25 * std::min(acf.cols, acf.rows);
  double shortest = std::numeric_limits<double>::infinity(), longest = 0.0;
  for (int k = 0; k < 180; ++k) {
    const double r = falls_at(acf, radians(k), reach);
    shortest = std::min(shortest, r), longest = std::max(longest, r);
  }
  if (!std::isfinite(longest) || longest <= 0.0) return std::nullopt;
  return shortest / longest;
}

/// The mean autocorrelation of a surface's blocks, of the photo in which most of it shows.
std::optional<double> surface_ratio(const FlatFace& face, Surface surface) {
  const int side = std::max(64, static_cast<int>(2.0 * kBlockMm / face.grid.step_mm));
  std::optional<double> least;
  for (const FlatPhoto& photo : face.photos) {
    cv::Mat sum;
    int count = 0;
    for_blocks(face, surface, side, [&](const cv::Rect& box, const cv::Mat&) {
      const cv::Mat acf = autocorrelation(photo.light(box));
      if (acf.empty()) return;
      if (sum.empty()) sum = cv::Mat::zeros(acf.size(), CV_32FC1);
      sum += acf, ++count;
    });
    if (count == 0) continue;
    const std::optional<double> ratio = ratio_of(sum / count);
    if (ratio && (!least || *ratio < *least)) least = ratio;
  }
  return least;
}

}  // namespace

double StructureTensor::direction_rad() const {
  // Of the gradient, turned by a quarter; rows run down.
  return axis_of(-0.5 * std::atan2(2.0 * xy, xx - yy) + 0.5 * kPi);
}

double StructureTensor::coherence() const {
  const double trace = xx + yy;
  return trace > 0.0 ? std::hypot(xx - yy, 2.0 * xy) / trace : 0.0;
}

StructureTensor structure_tensor(const cv::Mat& light, const cv::Mat& mask) {
  // Gaussian derivatives: the 3 x 3 kernel of H. Scharr (from memory), whose directions err least
  // of its size, after a Gaussian of 1 px.
  cv::Mat soft, dx, dy;
  cv::GaussianBlur(light, soft, {}, 1.0, 1.0, cv::BORDER_REPLICATE);
  cv::Scharr(soft, dx, CV_32F, 1, 0, 1.0 / 32.0, 0.0, cv::BORDER_REPLICATE);
  cv::Scharr(soft, dy, CV_32F, 0, 1, 1.0 / 32.0, 0.0, cv::BORDER_REPLICATE);
  // Each place has one say, however bright: a few scratches do not outvote the grain. Gradients
  // below the middle one are mostly noise and count less.
  const cv::Mat power = dx.mul(dx) + dy.mul(dy);
  const float middle = middle_power(power, mask);
  if (middle <= 0.0F) return {};
  const cv::Mat say = 1.0F / (power + middle);
  return {cv::mean(dx.mul(dx).mul(say), mask)[0], cv::mean(dx.mul(dy).mul(say), mask)[0],
          cv::mean(dy.mul(dy).mul(say), mask)[0]};
}

std::optional<double> direction_ratio(const cv::Mat& light) {
  const cv::Mat acf = autocorrelation(light);
  return acf.empty() ? std::nullopt : ratio_of(acf);
}

Lay lay_of(const FlatFace& face, Surface surface) {
  constexpr double kReach = radians(15.0);
  constexpr double kShared = 0.5;  // Of all votes: scratches are in the smaller part.
  constexpr double kLeast = 0.08;  // Noise alone gives a block 0.03 (drawn scenes).
  Lay lay{.surface = surface == kBevel ? "bevel" : "flat"};
  const std::vector<Block> blocks = blocks_of(face, surface);
  if (blocks.empty()) return lay;
  double best = 0.0, at = 0.0, all = 0.0;
  for (const Block& block : blocks) all += block.vote;
  for (int k = 0; k < 90; ++k) {
    const double near = support(blocks, radians(2.0 * k), kReach, &Block::vote);
    if (near > best) best = near, at = radians(2.0 * k);
  }
  lay.coherence =
      support(blocks, at, kReach, &Block::coherence) / static_cast<double>(blocks.size());
  lay.direction_ratio = surface_ratio(face, surface);
  if (best > kShared * all && lay.coherence > kLeast) {
    lay.direction_rad = mean_direction(blocks, at, kReach);
  }
  return lay;
}

}  // namespace evenbevel::finish
