#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "advice/numbers.hpp"
#include "edge_set/reversal.hpp"
#include "edge_view/metric.hpp"
#include "evenbevel/advice.hpp"

namespace evenbevel {
namespace {

constexpr double kBesideMm = 3.0;      // From here on standing over the edge is worth saying.
constexpr double kNearestMm = 200.0;   // The usual set-up's (design of the edge view).
constexpr double kCloserAtMost = 0.6;  // Of the distance: the whole edge must stay in the picture.
constexpr double kWorthIt = 0.9;       // A photo that leaves more than this of the interval is not.

std::vector<BudgetLine> worst_budget(const EdgeResult& result) {
  std::vector<BudgetLine> budget;
  for (const QuantityBudgetLine& line : result.budget) {
    if (line.quantity == "centreline_offset_worst") budget.push_back(line.line);
  }
  return budget;
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

struct Proposal {
  std::string what;
  double U95_mm;
};

bool any_turned(const EdgeResult& result) {
  return std::any_of(result.photos.begin(), result.photos.end(),
                     [](const EdgePhotoPart& photo) { return photo.turned; });
}

std::vector<Proposal> proposals(const EdgeResult& result, LengthUnit unit) {
  const std::vector<BudgetLine> budget = worst_budget(result);
  std::vector<Proposal> all;
  if (!any_turned(result)) {
    // The camera stays, so that it stands on the other side of the turned blade.
    all.push_back({"Turn the blade end for end in the jaws and take a second photo (--turned)",
                   U95_of(edges::turned_budget(budget, budget, -1.0))});
  }
  if (result.photos.size() < 2 && std::abs(result.camera_lateral_mm) > kBesideMm) {
    all.push_back({"Move the camera " + printed_position(std::abs(result.camera_lateral_mm), unit) +
                       " toward the " + (result.camera_lateral_mm > 0.0 ? "right" : "left") +
                       " face, to stand over the edge, and take the photo again",
                   U95_with(budget, {edge::kDepth}, 0.0)});
  }
  const double closer = std::max(kNearestMm / result.camera_distance_mm, kCloserAtMost);
  if (closer < 1.0) {
    all.push_back(
        {"Come closer, to " + printed_position(closer * result.camera_distance_mm, unit) +
             " if the whole edge still fits the picture, and take the photo again",
         U95_with(budget, {edge::kEdgeLocation, edge::kFlatsLocation, edge::kLight}, closer)});
  }
  return all;
}

}  // namespace

std::string next_photo(const EdgeResult& result, double tolerance_mm, LengthUnit unit) {
  if (!result.centreline_offset_worst_mm || !result.pose) return "";
  const double size = std::abs(result.centreline_offset_worst_mm->value);
  const double now = U95(*result.centreline_offset_worst_mm);
  if (size - now > tolerance_mm || size + now <= tolerance_mm) return "";
  if (worst_budget(result).empty()) return "";
  const std::vector<Proposal> all = proposals(result, unit);
  const auto best =
      std::min_element(all.begin(), all.end(),
                       [](const Proposal& a, const Proposal& b) { return a.U95_mm < b.U95_mm; });
  if (best == all.end() || best->U95_mm > kWorthIt * now) {
    return "No further photo of this set-up would narrow the interval of " +
           format_length(now, unit) + " much.";
  }
  const bool resolves = std::abs(size - tolerance_mm) > best->U95_mm;
  return best->what + ": the interval would shrink from " + format_length(now, unit) +
         " to about " + format_length(best->U95_mm, unit) +
         (resolves ? "." : ", which may still not tell: the worst place lies close to the limit.");
}

}  // namespace evenbevel
