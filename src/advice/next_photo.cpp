#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "edge_set/reversal.hpp"
#include "edge_view/stations.hpp"
#include "evenbevel/advice.hpp"

namespace evenbevel {
namespace {

constexpr double kBesideMm = 3.0;      // From here on standing over the edge is worth saying.
constexpr double kNearestMm = 200.0;   // The usual set-up's (design of the edge view).
constexpr double kCloserAtMost = 0.6;  // Of the distance: the whole edge must stay in the picture.
constexpr double kWorthIt = 0.9;       // What leaves more than this of the interval is not.

std::vector<BudgetLine> budget_of(const std::optional<Measured>& value) {
  return value ? value->budget : std::vector<BudgetLine>();
}

std::vector<BudgetLine> worst_budget(const EdgeResult& result) {
  return budget_of(result.centreline_offset_worst_mm);
}

double U95_of(const std::vector<BudgetLine>& budget) { return U95(combine(0.0, budget)); }

/// The budget with some causes scaled.
double U95_with(std::vector<BudgetLine> budget, const std::vector<std::string>& causes,
                double factor) {
  for (BudgetLine& line : budget) {
    if (std::find(causes.begin(), causes.end(), line.cause) != causes.end()) line.u *= factor;
  }
  return U95_of(budget);
}

/// A lens that is known leaves next to nothing of its cause.
std::optional<Remark> lens_remark(const std::vector<BudgetLine>& budget, const char* cause,
                                  double now) {
  const double without = U95_with(budget, {cause}, 0.0);
  if (budget.empty() || without > kWorthIt * now) return std::nullopt;
  return remark<RemarkCode::calibrate_next>(now, without);
}

struct Proposal {
  RemarkDraft draft;
  double U95_mm;
};

bool any_turned(const EdgeResult& result) {
  return std::any_of(result.photos.begin(), result.photos.end(),
                     [](const EdgePhotoPart& photo) { return photo.turned; });
}

std::vector<Proposal> proposals(const EdgeResult& result) {
  const std::vector<BudgetLine> budget = worst_budget(result);
  std::vector<Proposal> all;
  if (!any_turned(result)) {
    // The camera stays, so that it stands on the other side of the turned blade.
    all.push_back({RemarkDraft(RemarkCode::turn_blade_next),
                   U95_of(edges::turned_budget(budget, budget, -1.0))});
  }
  const double aside_mm = result.camera_lateral_mm;
  if (result.photos.size() < 2 && std::abs(aside_mm) > kBesideMm) {
    all.push_back({RemarkDraft(RemarkCode::stand_over_edge_next)
                       .with("distance_mm", std::abs(aside_mm))
                       .with("face", name(aside_mm > 0.0 ? Face::right : Face::left)),
                   U95_with(budget, {edge::kDepth}, 0.0)});
  }
  const double closer = std::max(kNearestMm / result.camera_distance_mm, kCloserAtMost);
  if (closer < 1.0) {
    all.push_back(
        {RemarkDraft(RemarkCode::come_closer_next)
             .with("distance_mm", closer * result.camera_distance_mm),
         U95_with(budget, {edge::kEdgeLocation, edge::kFlatsLocation, edge::kLight}, closer)});
  }
  return all;
}

}  // namespace

std::optional<Remark> calibrate_first(const EdgeResult& result) {
  if (!result.lens_guessed || !result.pose || !result.centreline_offset_worst_mm) {
    return std::nullopt;
  }
  // Where the camera stands hangs on the lens; how deep the flats lie does not.
  return lens_remark(worst_budget(result), edge::kParallax,
                     U95(*result.centreline_offset_worst_mm));
}

std::optional<Remark> calibrate_first(const SideResult& result, bool lens_guessed) {
  if (!lens_guessed) return std::nullopt;
  for (const auto* value : {&result.bevel_height_difference_worst_mm, &result.bevel_height_left_mm,
                            &result.bevel_height_right_mm}) {
    const std::vector<BudgetLine> budget = budget_of(*value);
    if (!budget.empty()) return lens_remark(budget, "lens, pose and flatness", U95_of(budget));
  }
  return std::nullopt;
}

std::optional<Remark> calibrate_first(const ChoilResult& result, bool lens_guessed) {
  if (!lens_guessed) return std::nullopt;
  const std::vector<BudgetLine>* widest = nullptr;
  const auto widened = [](const std::vector<BudgetLine>& budget) {
    return U95_of(budget) - U95_with(budget, {"lens"}, 0.0);
  };
  for (const ChoilDepth& depth : result.depths) {
    if (!depth.thickness_mm || depth.thickness_mm->budget.empty()) continue;
    const std::vector<BudgetLine>& budget = depth.thickness_mm->budget;
    if (widest == nullptr || widened(budget) > widened(*widest)) widest = &budget;
  }
  return widest == nullptr ? std::nullopt : lens_remark(*widest, "lens", U95_of(*widest));
}

std::optional<Remark> next_photo(const EdgeResult& result, double tolerance_mm) {
  if (!result.centreline_offset_worst_mm || !result.pose) return std::nullopt;
  const double size = std::abs(result.centreline_offset_worst_mm->value);
  const double now = U95(*result.centreline_offset_worst_mm);
  if (size - now > tolerance_mm || size + now <= tolerance_mm) return std::nullopt;
  if (worst_budget(result).empty()) return std::nullopt;
  std::vector<Proposal> all = proposals(result);
  const auto best = std::ranges::min_element(all, {}, &Proposal::U95_mm);
  if (best == all.end() || best->U95_mm > kWorthIt * now) {
    return remark<RemarkCode::no_photo_helps>(now);
  }
  best->draft.with("now_mm", now).with("then_mm", best->U95_mm);
  const bool resolves = std::abs(size - tolerance_mm) > best->U95_mm;
  if (!resolves) best->draft.with("limit_mm", tolerance_mm);
  return best->draft.done();
}

}  // namespace evenbevel
