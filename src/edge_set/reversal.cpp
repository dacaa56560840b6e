#include "reversal.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <string_view>
#include <utility>

#include "edge_view/stations.hpp"
#include "match.hpp"
#include "mirror.hpp"
#include "refusals.hpp"

namespace evenbevel::edges {
namespace {

constexpr const char* kReclamping = "re-clamping";
constexpr const char* kMatching = "matching along the blade";
// The jaws' tilt goes with the jaws, but for how the blade seats anew (common practice, no source).
constexpr double kReseated = 0.3;
// Light stays where it is, but falls on steel that is not quite alike on both sides: half of what
// it does to one photo remains (from random scenes and pictures of known geometry: a fifth).
constexpr double kLightLeft = 0.5;

double u_of(const std::vector<BudgetLine>& budget, std::string_view cause) {
  for (const BudgetLine& line : budget) {
    if (line.cause == cause) return line.u;
  }
  return 0.0;
}

/// +1 when the camera stood on one side of the blade in both, else -1.
double same_side(const EdgeResult& a, const EdgeResult& b) {
  return a.camera_lateral_mm * b.camera_lateral_mm >= 0.0 ? 1.0 : -1.0;
}

Tip other(Tip tip) { return tip == Tip::left ? Tip::right : Tip::left; }

/// Both results with opposite tips. What neither plunge lines nor the maker told is settled by what
/// the other photo shows; where neither tells, by the shape of the profiles.
std::pair<EdgeResult, EdgeResult> oriented(EdgeResult first, EdgeResult second) {
  if (first.tip_seen && second.tip_seen) {
    if (first.tip == second.tip) fail_not_turned(second, "the tip points the same way");
    return {std::move(first), std::move(second)};
  }
  const bool ricassos_differ = second.tip != first.tip;
  EdgeResult as_turned = second, as_left = second;
  if (second.tip_seen && first.tip == second.tip) first = mirrored(first);
  if (second.tip != other(first.tip)) as_turned = mirrored(second);
  if (second.tip != first.tip) as_left = mirrored(second);
  const std::optional<Match> turned = match_stations(first, as_turned);
  const std::optional<Match> left = match_stations(first, as_left);
  constexpr double kClearly = 0.5, kShapelessMm = 0.004;
  if (!turned) fail_nothing_common(second);
  if (left &&
      (left->misfit_mm < kClearly * turned->misfit_mm && turned->misfit_mm > kShapelessMm)) {
    fail_not_turned(second, "the edge has the same shape along the card");
  }
  const bool told = ricassos_differ || !left || turned->misfit_mm < kClearly * left->misfit_mm;
  if (!told) {
    as_turned.warnings.insert(as_turned.warnings.begin(), remark<RemarkCode::turn_assumed>());
  }
  return {std::move(first), std::move(as_turned)};
}

std::optional<Measured> half_sum(const std::optional<Measured>& a,
                                 const std::optional<Measured>& b) {
  if (!a || !b) return a ? a : b;
  // Widths: what moves a border outward does so in both photos.
  return shared_mean(std::array{*a, *b});
}

EdgeStation half_sum(const EdgeStation& a, const EdgeStation& b, double turned_offset_mm,
                     std::vector<BudgetLine> budget) {
  EdgeStation out = a;
  out.centreline_offset_mm =
      combine(0.5 * (a.centreline_offset_mm->value + turned_offset_mm), std::move(budget));
  for (auto member :
       {&EdgeStation::thickness_mm, &EdgeStation::line_gap_mm, &EdgeStation::land_width_mm,
        &EdgeStation::facet_width_left_mm, &EdgeStation::facet_width_right_mm}) {
    out.*member = half_sum(a.*member, b.*member);
  }
  out.residual_px = std::max(a.residual_px, b.residual_px);
  return out;
}

/// Stations that both photos show; the first and last of them bound the result.
std::vector<EdgeStation> half_sums(const EdgeResult& first, const EdgeResult& second,
                                   const Match& match) {
  std::vector<EdgeStation> stations;
  for (const EdgeStation& a : first.stations) {
    EdgeStation unseen;
    unseen.x_mm = a.x_mm;
    const double x = a.x_mm - match.shift_mm;
    const EdgeStation* b = station_near(second, x);
    const std::optional<double> turned = offset_at(second, x);
    if (!a.centreline_offset_mm || b == nullptr || !turned) {
      stations.push_back(unseen);
      continue;
    }
    std::vector<BudgetLine> budget = turned_budget(
        a.centreline_offset_mm->budget, b->centreline_offset_mm->budget, same_side(first, second));
    const std::optional<double> ahead = offset_at(second, x + 1.0);
    budget.push_back({kMatching, 0.5 * match.u_mm * std::abs(ahead.value_or(*turned) - *turned)});
    stations.push_back(half_sum(a, *b, *turned, std::move(budget)));
  }
  const auto seen = [](const EdgeStation& s) { return s.centreline_offset_mm.has_value(); };
  const auto begin = std::find_if(stations.begin(), stations.end(), seen);
  const auto end = std::find_if(stations.rbegin(), stations.rend(), seen).base();
  if (begin >= end) return {};
  return {begin, end};
}

/// Half the mean difference. Its uncertainty: what the two photos do not share.
Measured set_up(const EdgeResult& first, const EdgeResult& second, const Match& match) {
  double sum = 0.0, count = 0.0;
  for (const EdgeStation& a : first.stations) {
    if (!a.centreline_offset_mm) continue;
    const std::optional<double> b = offset_at(second, a.x_mm - match.shift_mm);
    if (!b) continue;
    sum += a.centreline_offset_mm->value - *b;
    count += 1.0;
  }
  // With the tip to the right the left face looks to -y of the card.
  const double toward_y = first.tip == Tip::right ? -0.5 : 0.5;
  const std::vector<BudgetLine> a = edge::mean_offset(first.stations).value().budget;
  const std::vector<BudgetLine> b = edge::mean_offset(second.stations).value().budget;
  std::vector<BudgetLine> budget;
  for (const char* cause :
       {edge::kEdgeLocation, edge::kFlatsLocation, edge::kCarried, edge::kParallax}) {
    budget.push_back({cause, 0.5 * std::hypot(u_of(a, cause), u_of(b, cause))});
  }
  const double depth = u_of(a, edge::kDepth) - same_side(first, second) * u_of(b, edge::kDepth);
  budget.push_back({edge::kDepth, 0.5 * std::abs(depth)});
  return combine(toward_y * sum / count, std::move(budget));
}

}  // namespace

std::vector<BudgetLine> turned_budget(const std::vector<BudgetLine>& budget,
                                      const std::vector<BudgetLine>& turned, double same_side) {
  std::vector<BudgetLine> out;
  for (const BudgetLine& line : budget) {
    const double a = line.u, b = u_of(turned, line.cause);
    const auto left = [&](double u) {
      BudgetLine rest = line;
      rest.u = u;
      out.push_back(rest);
    };
    if (line.cause == edge::kSquareness) {
      out.push_back({kReclamping, 0.5 * kReseated * std::hypot(a, b)});
    } else if (line.cause == edge::kLight) {
      left(0.5 * kLightLeft * (a + b));
    } else if (line.cause == edge::kDepth) {
      // The depth is the blade's; the camera's side of the blade changes with the blade.
      left(0.5 * std::abs(a + same_side * b));
    } else if (line.cause == edge::kStrip) {
      // Seen on the camera's side of the blade; where in it the border is read is the light's
      // doing.
      left(0.5 * (same_side > 0.0 ? 1.0 : kLightLeft) * (a + b));
    } else if (line.cause == edge::kBurr || line.cause == edge::kCorners ||
               line.cause == edge::kWhichBorder || line.cause == edge::kScale) {
      left(0.5 * (a + b));  // The blade's own, or the thickness's.
    } else {
      left(0.5 * std::hypot(a, b));
    }
  }
  return out;
}

EdgeResult reverse(const EdgeResult& as_clamped, const EdgeResult& turned) {
  const auto [first, second] = oriented(as_clamped, turned);
  const std::optional<Match> match = match_stations(first, second);
  if (!match) fail_nothing_common(second);
  EdgeResult out = first;
  out.tip_seen = first.tip_seen || second.tip_seen;
  out.stations = half_sums(first, second, *match);
  if (out.stations.size() < 5) fail_nothing_common(second);
  edge::summarise(out, edge::mean_offset(out.stations));
  out.setup_offset_mm = set_up(first, second, *match);
  for (auto member : {&EdgeResult::facet_angle_left_rad, &EdgeResult::facet_angle_right_rad,
                      &EdgeResult::land_height_left_mm, &EdgeResult::land_height_right_mm,
                      &EdgeResult::thickness_mm, &EdgeResult::bow_mm, &EdgeResult::plunge_left_mm,
                      &EdgeResult::plunge_right_mm, &EdgeResult::plunge_mismatch_mm}) {
    out.*member = half_sum(first.*member, second.*member);
  }
  out.photos.insert(out.photos.end(), second.photos.begin(), second.photos.end());
  add_new(out.warnings, second.warnings);
  add_new(out.advice, second.advice);
  return out;
}

}  // namespace evenbevel::edges
