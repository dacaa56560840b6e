#include "refusals.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

#include "evenbevel/error.hpp"
#include "evenbevel/fit.hpp"
#include "joint.hpp"

namespace evenbevel::edges {
namespace {

std::string size_of(const Photo& photo) {
  return std::to_string(photo.pixels.cols) + " x " + std::to_string(photo.pixels.rows);
}

std::string one_decimal(double value) {
  const double rounded = std::round(10.0 * value) / 10.0;
  const std::string text = std::to_string(rounded);
  return text.substr(0, text.find('.') + 2);
}

/// How the edge lies on the card as one photo alone shows it.
struct Lie {
  double heading_rad, t_mm;       ///< Across, in the middle of the first photo's edge.
  std::optional<double> zero_mm;  ///< Along, of the plunge lines.
};

Lie lie_of(const EdgeResult& result, const CameraModel& camera, const BladeDirections& blade,
           double at_s_mm) {
  std::vector<Eigen::Vector2d> points;
  std::vector<double> zeros;
  for (const EdgeStation& station : result.stations) {
    if (!station.centreline_offset_mm) continue;
    points.push_back(on_plane(camera, result, blade, station.px, result.edge_height_mm));
    zeros.push_back(points.back().x() - station.x_mm);
  }
  const LineFit line = fit_line_robust(points);
  const double t = line.centre.y() + std::tan(line.direction_rad) * (at_s_mm - line.centre.x());
  return {line.direction_rad, t,
          result.x_from_plunge ? std::optional(median(zeros)) : std::nullopt};
}

[[noreturn]] void fail_other_set_up(const EdgeResult& first, const EdgeResult& other,
                                    const InUnits& how) {
  throw Error(photo_name(other) + " and " + photo_name(first) + " show different set-ups: " + how,
              "give photos between which nothing but the camera was moved; others one by one "
              "(--each), or with --turned if the blade was turned end for end");
}

}  // namespace

void require_one_set_up(std::span<const EdgeResult> results, const CameraModel& camera) {
  constexpr double kHeadingRad = 0.006, kAcrossMm = 0.5, kAlongMm = 2.0, kSureU = 3.0;
  const EdgeResult& first = results.front();
  const BladeDirections blade = blade_directions(first, camera);
  const Eigen::Vector2d middle = on_plane(
      camera, first, blade, first.stations[first.stations.size() / 2].px, first.edge_height_mm);
  const Lie lie = lie_of(first, camera, blade, middle.x());
  for (const EdgeResult& other : results.subspan(1)) {
    require_one_blade(first, other);
    if (other.tip != first.tip) fail_other_set_up(first, other, "the tip points the other way");
    const Lie there = lie_of(other, camera, blade, middle.x());
    // A height that is not known well moves the blade across, as seen by a camera beside it.
    const double aslant = (other.camera_lateral_mm - first.camera_lateral_mm) /
                          std::min(first.camera_distance_mm, other.camera_distance_mm);
    const double across = std::abs(there.t_mm - lie.t_mm);
    if (across > kAcrossMm + kSureU * std::abs(aslant) * first.edge_height_u_mm) {
      fail_other_set_up(first, other,
                        "the blade lies " + length_words(across, 1) + " farther across the card");
    }
    if (std::abs(there.heading_rad - lie.heading_rad) > kHeadingRad) {
      fail_other_set_up(first, other, "the blade lies at another angle on the card");
    }
    if (lie.zero_mm && there.zero_mm && std::abs(*there.zero_mm - *lie.zero_mm) > kAlongMm) {
      fail_other_set_up(first, other,
                        "the plunge lines lie " +
                            length_words(std::abs(*there.zero_mm - *lie.zero_mm), 1) +
                            " farther along the card");
    }
  }
}

void require_agreement(std::span<const EdgeResult> results, const JointSolution& joint) {
  constexpr double kMost = 6.0;
  const auto worst =
      std::max_element(joint.worst_shift_over_u.begin(), joint.worst_shift_over_u.end());
  if (*worst <= kMost) return;
  const auto index = static_cast<std::size_t>(worst - joint.worst_shift_over_u.begin());
  fail_other_set_up(results[index == 0 ? 1 : 0], results[index],
                    "no one blade fits the borders in both");
}

std::string photo_name(const EdgeResult& result) {
  return result.photos.empty() ? "a photo" : result.photos.front().photo;
}

void require_one_size(std::span<const Photo> photos, std::span<const Photo> turned) {
  const Photo& first = photos.front();
  for (const std::span<const Photo> some : {photos, turned}) {
    for (const Photo& photo : some) {
      if (photo.pixels.size() == first.pixels.size()) continue;
      throw Error(photo.name + " is " + size_of(photo) + " pixels and " + first.name + " is " +
                      size_of(first) + ": photos measured together share one camera",
                  "take them all with one camera at one resolution, or measure them one by one "
                  "(--each)");
    }
  }
}

void require_one_blade(const EdgeResult& first, const EdgeResult& other) {
  if (first.stage != other.stage) {
    throw Error(photo_name(first) + " shows a blade that is " + std::string(name(first.stage)) +
                    ", " + photo_name(other) + " one that is " + std::string(name(other.stage)),
                "give photos of one blade in one state; if they are, say which (--shows)");
  }
  // Heights come from the thickness and the card's scale: a wrong scale shows as a wrong height.
  constexpr double kSureU = 3.0;
  const double apart = other.edge_height_mm - first.edge_height_mm;
  const double u = std::hypot(first.edge_height_u_mm, other.edge_height_u_mm);
  if (std::abs(apart) <= kSureU * u) return;
  const double percent = 100.0 * std::abs(apart) / first.camera_distance_mm;
  throw Error("the card in " + photo_name(other) + " has another scale than that in " +
                  photo_name(first) + ", by " + one_decimal(percent) +
                  " %, measured against the blade's thickness",
              "take all photos with one printed card, lying flat on the jaws");
}

void fail_not_turned(const EdgeResult& turned, const std::string& because) {
  throw Error("the blade was not turned in " + photo_name(turned) + ": " + because +
                  " as in the first photo",
              "turn the blade end for end in the jaws, leave jaws, card and light as they are, and "
              "take that photo again; or give the photo without --turned");
}

void fail_nothing_common(const EdgeResult& other) {
  throw Error(photo_name(other) + " and the first photo have less than " + length_words(10.0, 0) +
                  " of the measured edge in common",
              "take both photos so that the whole edge is in the picture");
}

}  // namespace evenbevel::edges
