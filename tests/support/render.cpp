#include "render.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include <opencv2/imgproc.hpp>

#include "caster.hpp"
#include "evenbevel/units.hpp"
#include "lens.hpp"

namespace evenbevel::test {
namespace {

/// A point half-way between pixels: its ray and what it meets.
struct Node {
  Eigen::Vector2d on_plane = Eigen::Vector2d::Zero();
  Hit hit;
  bool in_strip = false;
};

/// Where blade, slot and jaws can be seen: the rest of the picture shows card or table only.
cv::Mat strip_mask(const EdgeScene& scene) {
  const SetUp& set_up = scene.set_up;
  const BladeShape& blade = scene.blade;
  const Transform<Blade, Card> T_blade_card = card_from_blade(set_up).inverse();
  std::vector<cv::Point> outline;
  const auto add = [&](const Point<Blade>& p) {
    const Eigen::Vector2d q = pixel_of(scene, p);
    const double far = 4.0 * std::max(scene.camera.width_px, scene.camera.height_px);
    outline.emplace_back(static_cast<int>(std::clamp(q.x(), -far, far)),
                         static_cast<int>(std::clamp(q.y(), -far, far)));
  };
  for (const double x : {set_up.slot_x_min_mm, set_up.slot_x_max_mm}) {
    for (const double y : {-set_up.slot_half_width_mm, set_up.slot_half_width_mm}) {
      add(T_blade_card * Point<Card>{{x, y, 0.0}});
    }
  }
  for (int i = 0; i <= 8; ++i) {
    const double x = blade.x_min_mm + i * (blade.x_max_mm - blade.x_min_mm) / 8.0;
    for (const double y : {-0.5 * blade.thickness_mm, 0.5 * blade.thickness_mm}) {
      add({{x, y, cross_section(scene, x).edge_z_mm}});
    }
  }
  std::vector<cv::Point> hull;
  cv::convexHull(outline, hull);
  cv::Mat mask = cv::Mat::zeros(scene.camera.height_px + 1, scene.camera.width_px + 1, CV_8U);
  cv::fillConvexPoly(mask, hull, 255);
  constexpr int kSpare = 4;  // the lens bends the straight sides of the hull
  cv::dilate(mask, mask, cv::Mat::ones(2 * kSpare + 1, 2 * kSpare + 1, CV_8U));
  return mask;
}

constexpr double kSampledBlur = 0.4;  // px; the renderer's share of the lens's blur

/// Where in a pixel a ray goes so that a border is seen through square and blur: the inverse of the
/// cumulated square * Gaussian, tabulated; 0 is the pixel's left or upper side, 1 the other.
class Footprint {
 public:
  Footprint() {
    double at = -1.5;
    for (int i = 0; i <= kSteps; ++i) {
      const double wanted = std::clamp(static_cast<double>(i) / kSteps, 1e-4, 1.0 - 1e-4);
      while (cumulated(at) < wanted) at += 1e-4;
      table_[static_cast<std::size_t>(i)] = at + 0.5;
    }
  }

  double operator()(double share) const {
    const double at = share * kSteps;
    const auto index = std::min(static_cast<std::size_t>(at), static_cast<std::size_t>(kSteps - 1));
    const double part = at - static_cast<double>(index);
    return table_[index] + part * (table_[index + 1] - table_[index]);
  }

 private:
  static constexpr int kSteps = 1024;

  static double cumulated(double at) {
    const auto ramp = [](double t) {  // integral of the normal distribution function
      return t * 0.5 * std::erfc(-t / std::sqrt(2.0)) +
             std::exp(-0.5 * t * t) / std::sqrt(2.0 * kPi);
    };
    return kSampledBlur * (ramp((at + 0.5) / kSampledBlur) - ramp((at - 0.5) / kSampledBlur));
  }

  std::array<double, kSteps + 1> table_{};
};

class Renderer {
 public:
  Renderer(const EdgeScene& scene, const RenderSettings& settings)
      : scene_(scene), settings_(settings), caster_(scene), mask_(strip_mask(scene)) {}

  cv::Mat render() {
    const int rows = scene_.camera.height_px;
    const int columns = scene_.camera.width_px;
    cv::Mat light(rows, columns, CV_32FC3);
    for (std::vector<Node>& nodes : nodes_) nodes.resize(static_cast<std::size_t>(columns) + 1);
    for (int node_row = 0; node_row < 2; ++node_row) fill_nodes(node_row);
    for (int row = 0; row < rows; ++row) {
      if (row + 2 <= rows) fill_nodes(row + 2);
      find_uniform_columns(row);
      auto* out = light.ptr<cv::Vec3f>(row);
      for (int column = 0; column < columns; ++column) {
        const Paint paint = pixel(column, row);
        const float lit = brightness(column, row);
        out[column] = {paint.b * lit, paint.g * lit, paint.r * lit};
      }
    }
    return light;
  }

 private:
  std::vector<Node>& node_row(int row) { return nodes_[static_cast<std::size_t>(row) % 4]; }

  void fill_nodes(int row) {
    const uchar* mask = mask_.ptr<uchar>(row);
    std::vector<Node>& nodes = node_row(row);
    Eigen::Vector2d last = Eigen::Vector2d::Zero();
    Eigen::Vector2d pace = Eigen::Vector2d::Zero();
    for (std::size_t i = 0; i < nodes.size(); ++i) {
      const Eigen::Vector2d q_px(static_cast<double>(i) - 0.5, row - 0.5);
      Node& node = nodes[i];
      // From where the two neighbours point to, one step of Newton's is exact to 1e-9.
      const int steps = i < 2 ? 20 : 1;
      node.on_plane = lens_plane(scene_.camera, q_px, last + pace, steps);
      if (i > 0) pace = node.on_plane - last;
      last = node.on_plane;
      node.in_strip = mask[i] != 0;
      node.hit = node.in_strip ? caster_.cast(last) : caster_.cast_card(last);
    }
  }

  /// A pixel's footprint reaches one pixel beyond it: four rows of nodes, here column by column.
  void find_uniform_columns(int row) {
    const int first = std::max(row - 1, 0);
    const int last = std::min(row + 2, scene_.camera.height_px);
    columns_.assign(node_row(row).size(), true);
    for (int other = first; other <= last; ++other) {
      for (std::size_t i = 0; i < columns_.size(); ++i) {
        if (node_row(other)[i].hit.region != node_row(row)[i].hit.region) columns_[i] = false;
      }
    }
  }

  bool uniform(int column, int row) {
    const int last = std::min(column + 2, scene_.camera.width_px);
    const Region region = node_row(row)[static_cast<std::size_t>(column)].hit.region;
    for (int i = std::max(column - 1, 0); i <= last; ++i) {
      const auto index = static_cast<std::size_t>(i);
      if (!columns_[index] || node_row(row)[index].hit.region != region) return false;
    }
    return true;
  }

  Paint pixel(int column, int row) {
    const auto i = static_cast<std::size_t>(column);
    const std::vector<Node>& above = node_row(row);
    const std::vector<Node>& below = node_row(row + 1);
    const bool in_strip =
        above[i].in_strip || above[i + 1].in_strip || below[i].in_strip || below[i + 1].in_strip;
    if (uniform(column, row)) return caster_.shade(middle(above[i].hit, below[i + 1].hit));
    const Eigen::Vector2d origin = above[i].on_plane;
    const Eigen::Vector2d right = above[i + 1].on_plane - origin;
    const Eigen::Vector2d down = below[i].on_plane - origin;
    const Eigen::Vector2d centre = origin + 0.5 * (right + down);
    if (!in_strip && settings_.cheap && !caster_.near_card_node(centre)) {
      return caster_.shade(caster_.cast_card(centre));
    }
    return mean_over_footprint(origin, right, down, in_strip,
                               row * scene_.camera.width_px + column);
  }

  static Hit middle(const Hit& a, const Hit& b) {
    return {a.region,
            0.5 * (a.x_mm + b.x_mm),
            0.5 * (a.y_mm + b.y_mm),
            0.5 * (a.above_jaw_mm + b.above_jaw_mm),
            0.5 * (a.card_x_mm + b.card_x_mm),
            0.5 * (a.card_y_mm + b.card_y_mm)};
  }

  /// Mean over a Fibonacci lattice, shifted from pixel to pixel: its rows and columns all differ,
  /// so that a border along the picture's axis is placed to 1 / samples of a pixel.
  Paint mean_over_footprint(const Eigen::Vector2d& origin, const Eigen::Vector2d& right,
                            const Eigen::Vector2d& down, bool in_strip, int index) const {
    const int samples = in_strip ? settings_.samples : settings_.card_samples;
    const double generator = std::round(samples * 0.6180339887498949);
    auto shift = static_cast<std::uint32_t>(index) * 0x9E3779B1U;
    shift = (shift ^ (shift >> 15)) * 0x2C1B3C6DU;
    const double shift_x = (shift >> 16) / 65536.0;
    const double shift_y = (shift & 0xFFFFU) / 65536.0;
    Paint sum;
    for (int i = 0; i < samples; ++i) {
      const double a = (i + shift_x) / samples;
      double b = i * generator / samples + shift_y;
      b -= std::floor(b);
      const Eigen::Vector2d on_plane = origin + footprint_(a) * right + footprint_(b) * down;
      const Paint paint =
          caster_.shade(in_strip ? caster_.cast(on_plane) : caster_.cast_card(on_plane));
      sum.b += paint.b;
      sum.g += paint.g;
      sum.r += paint.r;
    }
    const float share = 1.0F / static_cast<float>(samples);
    return {sum.b * share, sum.g * share, sum.r * share};
  }

  float brightness(int column, int row) const {
    const double width = scene_.camera.width_px;
    const double x = column / width - 0.5;
    const double y = (row - 0.5 * scene_.camera.height_px) / width;
    return static_cast<float>(1.0 + scene_.light_slope_x * x + scene_.light_slope_y * y);
  }

  const EdgeScene& scene_;
  const RenderSettings& settings_;
  Caster caster_;
  cv::Mat mask_;
  Footprint footprint_;
  std::array<std::vector<Node>, 4> nodes_;  ///< Rows of nodes, in turn.
  std::vector<char> columns_;               ///< The same region in all rows about the pixel.
};

}  // namespace

Light render_light(const EdgeScene& scene, const RenderSettings& settings) {
  return {Renderer(scene, settings).render(), kSampledBlur};
}

}  // namespace evenbevel::test
