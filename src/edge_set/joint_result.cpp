#include "joint_result.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <string_view>

#include "border/light_bias.hpp"
#include "edge_view/stations.hpp"
#include "evenbevel/fit.hpp"
#include "joint.hpp"
#include "match.hpp"
#include "refusals.hpp"
#include "uncertainty/neighbours.hpp"

namespace evenbevel::edges {
namespace {

/// Causes that are alike in all photos of one clamping, as each photo's own budget has them.
constexpr std::array kShared = {edge::kBurr,        edge::kLight, edge::kCorners,
                                edge::kWhichBorder, edge::kStrip, edge::kSquareness};

/// left - right of two borders at one station.
Row width_row(const SpaceCurves& curves, Border left, Border right, double s_mm) {
  Row row = curves.t(left, s_mm);
  append(row, curves.t(right, s_mm), -1.0);
  return row;
}

Row offset_row(const SpaceCurves& curves, double s_mm) {
  Row row;
  append(row, curves.t(Border::inner_left, s_mm), 0.5);
  append(row, curves.t(Border::inner_right, s_mm), 0.5);
  append(row, curves.t(Border::flat_left, s_mm), -0.5);
  append(row, curves.t(Border::flat_right, s_mm), -0.5);
  return row;
}

/// s of each result's x = 0.
std::vector<double> origins(std::span<const EdgeResult> results, const JointSolution& joint) {
  std::vector<double> all;
  for (std::size_t i = 0; i < results.size(); ++i) {
    std::vector<double> apart;
    for (const EdgeStation& station : results[i].stations) {
      const Eigen::Vector2d at = on_plane(joint.cameras[i], joint.T_camera_card[i], joint.blade,
                                          station.px, results[i].edge_height_mm);
      apart.push_back(at.x() - station.x_mm);
    }
    all.push_back(median(apart));
  }
  return all;
}

/// A value with the mean of the photos' own uncertainties.
std::optional<Measured> with_mean_u(double value, const std::vector<const EdgeStation*>& near,
                                    std::optional<Measured> EdgeStation::*which) {
  std::vector<Measured> own;
  for (const EdgeStation* station : near) {
    if (station->*which) own.push_back(*(station->*which));
  }
  if (own.empty()) return std::nullopt;
  Measured out = shared_mean(own);
  out.value = value;
  return out;
}

/// What each cause leaves unknown of a number of the solution.
std::vector<BudgetLine> lines_of(const JointSolution& joint, const Row& row) {
  std::vector<BudgetLine> lines;
  for (int k = 0; k < kCauses; ++k) {
    const auto cause = static_cast<Cause>(k);
    lines.push_back({name(cause), joint.u(row, cause)});
  }
  return lines;
}

/// A photo's part in a cause that is alike in all: their mean. Which border is the flat's, and
/// how much of it shows below, is settled by the photo that shows it best.
double shared_u(const std::vector<const EdgeStation*>& near, std::string_view cause) {
  double sum = 0.0, least = std::numeric_limits<double>::infinity();
  for (const EdgeStation* station : near) {
    for (const BudgetLine& line : station->centreline_offset_mm->budget) {
      if (line.cause != cause) continue;
      sum += line.u / static_cast<double>(near.size());
      least = std::min(least, line.u);
    }
  }
  return (cause == edge::kWhichBorder || cause == edge::kStrip) && sum > 0.0 ? least : sum;
}

std::vector<BudgetLine> budget_of(const JointSolution& joint, const Row& row,
                                  const std::vector<const EdgeStation*>& near) {
  std::vector<BudgetLine> budget = lines_of(joint, row);
  budget.front().shared_mm = kBorderSharedMm;
  for (const char* cause : kShared) budget.push_back({cause, shared_u(near, cause)});
  // What light does anew in each photo is in the solution's part: the rest it does in all of them.
  const double anew = joint.u(row, Cause::view_light) * std::sqrt(static_cast<double>(near.size()));
  for (BudgetLine& line : budget) {
    if (line.cause == edge::kLight) {
      line.u = std::sqrt(std::max(line.u * line.u - anew * anew, 0.0));
    }
  }
  return budget;
}

/// What the measured lean of the jaws has made of the offset: the mid-plane leans from the flats'
/// rims up to the land.
double by_lean_mm(const JointSolution& joint, double s_mm, double lean_to_left_rad) {
  const double depth = 0.5 * (joint.value(joint.curves.depth(Border::flat_left, s_mm)) +
                              joint.value(joint.curves.depth(Border::flat_right, s_mm)));
  return std::tan(lean_to_left_rad) * depth;
}

EdgeStation station_at(const JointSolution& joint, double s_mm,
                       const std::vector<const EdgeStation*>& near, double lean_to_left_rad,
                       double px_per_mm, Stage stage) {
  const SpaceCurves& curves = joint.curves;
  EdgeStation station;
  const Row offset = offset_row(curves, s_mm);
  station.centreline_offset_mm =
      combine(joint.value(offset) - by_lean_mm(joint, s_mm, lean_to_left_rad),
              budget_of(joint, offset, near));
  for (const EdgeStation* one : near) {
    station.residual_px = std::max(station.residual_px, one->residual_px);
  }
  const auto with_shared_u = [&](std::optional<Measured> EdgeStation::*which, const Row& row) {
    station.*which = with_mean_u(joint.value(row), near, which);
  };
  const Row inner = width_row(curves, Border::inner_left, Border::inner_right, s_mm);
  with_shared_u(&EdgeStation::line_gap_mm, inner);
  with_shared_u(&EdgeStation::land_width_mm, inner);
  with_shared_u(&EdgeStation::thickness_mm,
                width_row(curves, Border::flat_left, Border::flat_right, s_mm));
  if (stage != Stage::ground) return station;
  const auto facet = [&](Border left, Border right) {
    const Row row = width_row(curves, left, right, s_mm);
    return with_line(combine(joint.value(row), lines_of(joint, row)),
                     {edge::kLight, light_bias::edge::kWidth / px_per_mm});
  };
  station.facet_width_left_mm = facet(Border::flat_left, Border::inner_left);
  station.facet_width_right_mm = facet(Border::inner_right, Border::flat_right);
  return station;
}

/// Pixel of the middle of the edge in the first photo.
Eigen::Vector2d middle_px(const JointSolution& joint, double s_mm) {
  const Eigen::Vector3d left =
      joint.curves.point(Border::inner_left, s_mm, joint.blade, joint.unknowns);
  const Eigen::Vector3d right =
      joint.curves.point(Border::inner_right, s_mm, joint.blade, joint.unknowns);
  return project(joint.cameras.front(),
                 joint.T_camera_card.front() * Point<Card>{0.5 * (left + right)});
}

struct PlacedStations {
  std::vector<EdgeStation> stations;
  std::vector<double> s_mm;  ///< Of those with an offset.
};

PlacedStations stations_of(std::span<const EdgeResult> results, const JointSolution& joint,
                           const std::vector<double>& origin_mm, double x_zero_mm,
                           const EdgeSettings& settings) {
  PlacedStations out;
  const double step_mm = settings.step_mm;
  const EdgeResult& first = results.front();
  const double lean_to_left_rad =
      first.stage == Stage::ground ? edge::toward_left(settings.jaw_lean_rad, first.tip) : 0.0;
  const Stretch inner = joint.curves.inner();
  const int count = static_cast<int>((inner.end_mm - inner.begin_mm) / step_mm) + 1;
  for (int i = 0; i < count; ++i) {
    const double s = inner.begin_mm + step_mm * i;
    std::vector<const EdgeStation*> near;
    for (std::size_t k = 0; k < results.size(); ++k) {
      const EdgeStation* one = station_near(results[k], s - origin_mm[k]);
      if (one != nullptr) near.push_back(one);
    }
    EdgeStation station;
    if (!near.empty()) {
      station = station_at(joint, s, near, lean_to_left_rad, first.scale_px_per_mm, first.stage);
      out.s_mm.push_back(s);
    }
    station.x_mm = s - x_zero_mm;
    station.px = middle_px(joint, s);
    out.stations.push_back(std::move(station));
  }
  return out;
}

/// Of two photos from nearly one place the height is what was assumed of it, not measured.
bool is_measured(const JointSolution& joint, const Row& height) {
  constexpr double kMostAssumed = 0.7;  // Half of the variance.
  return joint.u(height, Cause::shape) < kMostAssumed * joint.u(height);
}

struct Facet {
  std::optional<Measured> land_height_mm, angle_rad;
};

/// Mean over the stations of one side.
Facet facet_of(const JointSolution& joint, const std::vector<double>& s_mm, Border flat,
               Border inner, double px_per_mm) {
  Row height, width;
  const double sign = flat == Border::flat_left ? 1.0 : -1.0;
  const double share = 1.0 / static_cast<double>(s_mm.size());
  for (const double s : s_mm) {
    append(height, joint.curves.depth(flat, s), share);
    append(width, joint.curves.t(flat, s), sign * share);
    append(width, joint.curves.t(inner, s), -sign * share);
  }
  Facet out;
  height = merged(height);
  width = merged(width);
  if (!is_measured(joint, height)) return out;
  const double h = joint.value(height), w = joint.value(width);
  out.land_height_mm = combine(h, lines_of(joint, height));
  if (h <= 0.0 || w <= 0.0) return out;
  Row angle;
  append(angle, width, h / (h * h + w * w));
  append(angle, height, -w / (h * h + w * w));
  angle = merged(angle);
  out.angle_rad =
      with_line(combine(std::atan2(w, h), lines_of(joint, angle)),
                {edge::kLight, h / (h * h + w * w) * light_bias::edge::kWidth / px_per_mm});
  return out;
}

void add_facets(EdgeResult& result, const JointSolution& joint, const std::vector<double>& s_mm) {
  const double px_per_mm = result.scale_px_per_mm;
  const Facet left = facet_of(joint, s_mm, Border::flat_left, Border::inner_left, px_per_mm);
  const Facet right = facet_of(joint, s_mm, Border::flat_right, Border::inner_right, px_per_mm);
  result.land_height_left_mm = left.land_height_mm;
  result.land_height_right_mm = right.land_height_mm;
  result.facet_angle_left_rad = left.angle_rad;
  result.facet_angle_right_rad = right.angle_rad;
}

std::optional<Measured> mean(std::span<const EdgeResult> results,
                             std::optional<Measured> EdgeResult::*which) {
  std::vector<Measured> values;
  for (const EdgeResult& result : results) {
    if (result.*which) values.push_back(*(result.*which));
  }
  if (values.empty()) return std::nullopt;
  return shared_mean(values);
}

void add_what_the_photos_say(EdgeResult& out, std::span<const EdgeResult> results) {
  out.photos.clear();
  out.camera_lateral_mm = 0.0;
  for (const EdgeResult& result : results) {
    out.photos.insert(out.photos.end(), result.photos.begin(), result.photos.end());
    out.camera_lateral_mm += result.camera_lateral_mm / static_cast<double>(results.size());
    add_new(out.warnings, result.warnings);
  }
  // Each photo's camera stands where it stands on purpose.
  std::erase_if(out.advice,
                [](const Remark& advice) { return advice.code == RemarkCode::move_over_edge; });
}

}  // namespace

EdgeResult measure_jointly(std::span<const EdgeResult> results, const CameraModel& camera,
                           const EdgeSettings& settings) {
  require_one_set_up(results, camera);
  const JointSolution joint = solve_jointly(results, camera, settings);
  require_agreement(results, joint);
  const std::vector<double> origin_mm = origins(results, joint);
  EdgeResult out = results.front();
  double x_zero = joint.curves.inner().begin_mm, with_plunges = 0.0, sum = 0.0;
  for (std::size_t i = 0; i < results.size(); ++i) {
    if (!results[i].x_from_plunge) continue;
    sum += origin_mm[i];
    with_plunges += 1.0;
  }
  out.x_from_plunge = with_plunges > 0.0;
  if (out.x_from_plunge) x_zero = sum / with_plunges;
  for (auto member : {&EdgeResult::plunge_left_mm, &EdgeResult::plunge_right_mm,
                      &EdgeResult::plunge_mismatch_mm}) {
    out.*member = mean(results, member);
  }
  PlacedStations placed = stations_of(results, joint, origin_mm, x_zero, settings);
  out.stations = std::move(placed.stations);
  edge::summarise(out, edge::mean_offset(out.stations));
  const double middle = 0.5 * (joint.curves.inner().begin_mm + joint.curves.inner().end_mm);
  const Row height = joint.curves.z(Border::inner_left, middle);
  out.edge_height_mm = joint.value(height);
  out.edge_height_u_mm = joint.u(height);
  if (out.stage == Stage::ground) add_facets(out, joint, placed.s_mm);
  add_what_the_photos_say(out, results);
  return out;
}

}  // namespace evenbevel::edges
