#include "record/preview_window.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include <Eigen/QR>

namespace evenbevel {
namespace {

using Stations = std::vector<StatedStation>;

constexpr double kMostMm = 600.0;  // Of blade in one picture: more is a damaged report.
constexpr double kLeastPxPerMm = 0.5;
constexpr double kWidestPx = 1600.0, kTallestPx = 3000.0;
constexpr double kAcross = 3.0;  // What is thin is shown this much thicker.

/// A place of the photo with its coordinate along the blade, or its depth.
struct Place {
  double along_mm = 0.0;
  Eigen::Vector2d px = Eigen::Vector2d::Zero();
};

/// A quarter turn from u to v, as the picture's x turns to its y.
Eigen::Vector2d down_from(const Eigen::Vector2d& u) { return {-u.y(), u.x()}; }

bool sound(const PreviewWindow& w) {
  const double length = w.u_to_mm - w.u_from_mm;
  const double height = w.v_to_mm - w.v_from_mm;
  return w.origin_px.allFinite() && w.u_px_per_mm.allFinite() &&
         w.u_px_per_mm.norm() > kLeastPxPerMm && length >= 1.0 && length <= kMostMm &&
         height >= 0.1 && height * w.scale * w.enlarged <= kTallestPx;
}

/// Least squares: px = origin + along * u.
void fit_line(const std::vector<Place>& places, PreviewWindow& window) {
  const auto n = static_cast<Eigen::Index>(places.size());
  Eigen::MatrixX2d A(n, 2), b(n, 2);
  for (Eigen::Index i = 0; i < n; ++i) {
    A.row(i) << 1.0, places[static_cast<std::size_t>(i)].along_mm;
    b.row(i) = places[static_cast<std::size_t>(i)].px.transpose();
  }
  const Eigen::Matrix2d solution = A.colPivHouseholderQr().solve(b);
  window.origin_px = solution.row(0).transpose();
  window.u_px_per_mm = solution.row(1).transpose();
  window.v_px_per_mm = down_from(window.u_px_per_mm);
}

double along_v(const PreviewWindow& window, const Eigen::Vector2d& px) {
  return (px - window.origin_px).dot(window.v_px_per_mm) / window.v_px_per_mm.squaredNorm();
}

constexpr std::size_t kFewest = 3;

std::optional<PreviewWindow> edge_window(const Stations& stations) {
  constexpr double kHalfMm = 5.0;  // Shown to each side of the edge.
  std::vector<Place> places;
  for (const StatedStation& station : stations) {
    if (const auto px = station.px("", "")) places.push_back({station.at_mm, *px});
  }
  if (places.size() < kFewest) return std::nullopt;
  PreviewWindow window{.v_from_mm = -kHalfMm,
                       .v_to_mm = kHalfMm,
                       .scale = 10.0,
                       .enlarged = kAcross,
                       .words =
                           "Straightened along the blade, tip to the right, left face below; "
                           "across the blade enlarged 3 times."};
  fit_line(places, window);
  window.u_from_mm = std::floor(places.front().along_mm);
  window.u_to_mm = std::ceil(places.back().along_mm);
  return window;
}

/// Where x grows is known at every place, how high it stands is not: x = gradient . px + constant.
/// @param mirrored  Of the left face, whose tip points to the left.
void fit_direction(const std::vector<Place>& places, bool mirrored, PreviewWindow& window) {
  const auto n = static_cast<Eigen::Index>(places.size());
  Eigen::MatrixX3d A(n, 3);
  Eigen::VectorXd u(n);
  for (Eigen::Index i = 0; i < n; ++i) {
    const Place& place = places[static_cast<std::size_t>(i)];
    A.row(i) << place.px.x(), place.px.y(), 1.0;
    u(i) = place.along_mm;
  }
  const Eigen::Vector3d solution = A.colPivHouseholderQr().solve(u);
  const Eigen::Vector2d gradient = solution.head<2>();
  window.u_px_per_mm = gradient / gradient.squaredNorm();
  window.v_px_per_mm = (mirrored ? -1.0 : 1.0) * down_from(window.u_px_per_mm);
  window.origin_px = -solution(2) * window.u_px_per_mm;
}

/// v = 0 at the spine, which no grinding of the bevels moves.
void set_heights(const std::vector<Place>& spine, const std::vector<Place>& edge,
                 PreviewWindow& window) {
  constexpr double kMarginMm = 3.0;
  std::vector<double> heights;
  for (const Place& place : spine) heights.push_back(along_v(window, place.px));
  const auto top = heights.begin() + static_cast<std::ptrdiff_t>(heights.size() / 10);
  std::nth_element(heights.begin(), top, heights.end());
  double deepest = *top;
  for (const Place& place : edge) deepest = std::max(deepest, along_v(window, place.px));
  window.origin_px += *top * window.v_px_per_mm;
  window.v_from_mm = -kMarginMm;
  window.v_to_mm = deepest - *top + kMarginMm;
}

std::optional<PreviewWindow> side_window(const Stations& stations, const std::string& face) {
  std::vector<Place> spine, edge, all;
  for (const StatedStation& station : stations) {
    if (const auto px = station.px(face, "spine")) spine.push_back({station.at_mm, *px});
    if (const auto px = station.px(face, "edge")) edge.push_back({station.at_mm, *px});
  }
  if (spine.size() < kFewest || edge.size() < kFewest) return std::nullopt;
  all = spine;
  all.insert(all.end(), edge.begin(), edge.end());
  const bool left = face == "left";
  PreviewWindow window{.scale = 8.0,
                       .words = std::string("Straightened, ") + (left ? "mirrored, " : "") +
                                "edge down, tip to the right, the spines laid over each other."};
  fit_direction(all, left, window);
  set_heights(spine, edge, window);
  double low = all.front().along_mm, high = low;
  for (const Place& place : all) {
    low = std::min(low, place.along_mm), high = std::max(high, place.along_mm);
  }
  window.u_from_mm = std::floor(low);
  window.u_to_mm = std::ceil(high);
  return window;
}

std::optional<PreviewWindow> choil_window(const Stations& stations) {
  constexpr double kBeforeMm = 1.0;  // Paper shown before the edge and beside the blade.
  std::vector<Place> middles;
  std::vector<Eigen::Vector2d> outline;
  for (const StatedStation& station : stations) {
    const auto left = station.px("", "left");
    const auto right = station.px("", "right");
    if (!left || !right) continue;
    middles.push_back({station.at_mm, 0.5 * (*left + *right)});
    outline.insert(outline.end(), {*left, *right});
  }
  if (middles.size() < kFewest) return std::nullopt;
  constexpr double kScale = 36.0;  // Along the section's height.
  PreviewWindow window{
      .scale = kAcross * kScale,
      .enlarged = 1.0 / kAcross,
      .words = "Edge down, left face at the left; across the blade enlarged 3 times."};
  fit_line(middles, window);
  double half = 0.0;
  for (const auto& px : outline) half = std::max(half, std::abs(along_v(window, px)));
  const Eigen::Vector2d to_spine = window.u_px_per_mm;
  window.u_px_per_mm = down_from(to_spine);
  window.v_px_per_mm = -to_spine;
  window.u_from_mm = -half - kBeforeMm;
  window.u_to_mm = half + kBeforeMm;
  window.v_from_mm = -std::ceil(middles.back().along_mm);
  window.v_to_mm = kBeforeMm;
  return window;
}

std::optional<PreviewWindow> window_of(const Statement& report, const std::string& face) {
  if (report.view == "edge") return edge_window(report.stations);
  if (report.view == "side") return side_window(report.stations, face);
  if (report.view == "choil") return choil_window(report.stations);
  return std::nullopt;
}

}  // namespace

std::optional<PreviewWindow> preview_window(const Statement& report, const std::string& face) {
  std::optional<PreviewWindow> window = window_of(report, face);
  if (!window) return std::nullopt;
  window->scale = std::min(window->scale, kWidestPx / (window->u_to_mm - window->u_from_mm));
  return sound(*window) ? window : std::nullopt;
}

}  // namespace evenbevel
