#include "blade.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "evenbevel/card.hpp"
#include "readings.hpp"

namespace evenbevel::edge {
namespace {

constexpr double kTurnRad = 0.09;  // The slot is 8 mm wide: the blade cannot lie more askew.
constexpr double kAlongStepMm = 0.5;

InnerSearch inner_search(const Located& at, const std::pair<double, double>& stretch) {
  const double width = at.flats.width_mm(0.5 * (at.flats.s_begin_mm + at.flats.s_end_mm));
  return {.mid = {0.5 * (at.flats.high.at_zero_mm + at.flats.low.at_zero_mm),
                  0.5 * (at.flats.high.slope + at.flats.low.slope)},
          .half_width_mm = 0.3 * width,
          .border_limit_mm = 0.4 * width,
          .gap_high_mm = 0.5 * width,
          .s_low_mm = stretch.first,
          .s_high_mm = stretch.second};
}

/// Mean strength with which both flats were seen along a stretch.
double strength_along(const FlatsPair& flats, const CoarseStrip& strip, double begin_mm,
                      double end_mm) {
  double sum = 0.0;
  int columns = 0;
  for (std::size_t column = 0; column < flats.seen.size(); ++column) {
    const double s = strip.s_mm(static_cast<double>(column));
    if (s < begin_mm || s > end_mm) continue;
    sum += static_cast<double>(flats.seen[column]);
    ++columns;
  }
  return columns > 0 ? sum / columns : 0.0;
}

/// Whether the places just inside of both rims are a gap that one looks down into, and no facets:
/// darker than the jaws outside, and darker than what adjoins the land.
bool gap_beside_land(const Located& at, const InnerTrace& trace) {
  constexpr double kBesideMm = 0.25;
  constexpr double kClearlyDarker = 0.9;
  std::array<double, 6> sums{};  // Outside, inside, beside the land: high side, then low side.
  for (const InnerTrace::Place& p : trace.places) {
    const double high = at.flats.high.t_mm(p.s_mm), low = at.flats.low.t_mm(p.s_mm);
    const std::array t = {high + kBesideMm, high - kBesideMm, p.high_mm + kBesideMm,
                          low - kBesideMm,  low + kBesideMm,  p.low_mm - kBesideMm};
    const int column =
        std::clamp(static_cast<int>(std::lround((p.s_mm - at.strip.s0_mm) / at.strip.ds_mm)), 0,
                   at.strip.grey.cols - 1);
    for (std::size_t i = 0; i < t.size(); ++i) {
      const int row = static_cast<int>(std::lround((t[i] - at.strip.t0_mm) / at.strip.dt_mm));
      sums[i] += at.strip.grey.at<float>(std::clamp(row, 0, at.strip.grey.rows - 1), column);
    }
  }
  const auto gap = [&](std::size_t side) {
    return sums[side + 1] < kClearlyDarker * std::min(sums[side], sums[side + 2]);
  };
  return gap(0) && gap(3);
}

/// Which stage the photo shows: the model that explains the profiles better.
std::optional<Inner> find_inner(const LaneImage& image, const Located& at,
                                const std::pair<double, double>& stretch,
                                const EdgeSettings& settings, double card_blur_px) {
  constexpr double kMostLogMisfit = -1.7;  // Residuals under a fifth of the contrast.
  const InnerSearch search = inner_search(at, stretch);
  InnerSearch lines_search = search;
  lines_search.gap_high_mm = std::min(search.gap_high_mm, 1.0);
  std::optional<Inner> best;
  double other_misfit = 0.0;  // The model's that lost.
  const auto consider = [&](Stage stage, std::optional<InnerTrace> trace) {
    if (!trace) return;
    const ReadingPlan plan{.stage = stage, .step_mm = settings.step_mm, .blur_px = card_blur_px};
    const double misfit = mean_log_misfit(image, at.frame, at.flats, *trace, plan);
    if (best) other_misfit = std::max(misfit, best->log_misfit);
    if (misfit > kMostLogMisfit || (best && misfit > best->log_misfit)) return;
    best = Inner{stage, std::move(*trace), misfit};
  };
  if (!settings.stage || *settings.stage == Stage::scribed) {
    consider(Stage::scribed, follow_lines(at.strip, at.px_per_mm, lines_search));
  }
  if (!settings.stage || *settings.stage != Stage::scribed) {
    consider(Stage::ground, follow_land(at.strip, at.px_per_mm, search));
  }
  if (!best) return std::nullopt;
  // Two models that explain a picture about equally well leave the stage open: say nothing.
  constexpr double kClearlyBetter = 0.3;
  if (other_misfit < 0.0 && other_misfit - best->log_misfit < kClearlyBetter) return std::nullopt;
  const ReadingPlan plan{
      .stage = best->stage, .step_mm = settings.step_mm, .blur_px = card_blur_px};
  best->trace = confirmed(image, at.frame, at.flats, best->trace, plan);
  if (best->trace.places.size() < 10) return std::nullopt;
  if (best->stage == Stage::ground) {
    const bool flats_beside = strength_along(at.flats, at.strip, best->trace.s_begin_mm(),
                                             best->trace.s_end_mm()) > 0.35 &&
                              !gap_beside_land(at, best->trace);
    best->stage = settings.stage.value_or(flats_beside ? Stage::ground : Stage::bevelled);
  }
  return best;
}

/// How well a pair of borders is seen where the blade's flats must be, 0..1. Jaws run beside the
/// land too, but not beside the ricasso: that tells more.
double support(const Located& place, const Inner& inner) {
  constexpr double kPlungeMm = 5.0, kRicassoMm = 12.0, kFullLengthMm = 50.0;
  const double begin = inner.trace.s_begin_mm(), end = inner.trace.s_end_mm();
  const auto strength = [&](double from, double to) {
    return strength_along(place.flats, place.strip, from, to);
  };
  const double ricasso = std::max(strength(begin - kPlungeMm - kRicassoMm, begin - kPlungeMm),
                                  strength(end + kPlungeMm, end + kPlungeMm + kRicassoMm));
  const double beside = strength(begin, end);
  const double rims = inner.stage == Stage::scribed ? beside : 0.4 * beside + 0.6 * ricasso;
  return rims * std::min(1.0, (end - begin) / kFullLengthMm);
}

}  // namespace

std::vector<Located> locate(const LaneImage& image, const StripFrame& on_lane,
                            const std::pair<double, double>& stretch, FlatsSearch search,
                            double least_support_mm) {
  constexpr int kMost = 5;
  const double reach = 0.5 * card_layout(CardKind::edge).lane_mm().sizes().y() - 0.5;
  const double px_per_mm = on_lane.px_per_mm_across(0.5 * (stretch.first + stretch.second), 0.0);
  const double dt = 0.5 / px_per_mm;
  search.turn_rad = kTurnRad;
  const CoarseStrip first = coarse_strip(
      image, on_lane, {stretch.first, stretch.second, -reach, reach}, kAlongStepMm, dt);
  const std::vector<FlatsPair> rough =
      find_flats(first, px_per_mm, search, 0.5 * least_support_mm, 1);
  if (rough.empty()) return {};
  const double slope = 0.5 * (rough.front().high.slope + rough.front().low.slope);
  const StripFrame frame = on_lane.turned(on_lane.direction_rad() - std::atan(slope));
  search.turn_rad = 0.012;
  search.smooth_along_mm = 8.0;
  search.least_gradient = 0.6F;
  const double mid = rough.front().mid_mm(0.0);
  const CoarseStrip strip = coarse_strip(
      image, frame, {stretch.first, stretch.second, mid - 5.0, mid + 5.0}, kAlongStepMm, dt);
  std::vector<Located> places;
  for (FlatsPair& flats : find_flats(strip, px_per_mm, search, least_support_mm, kMost)) {
    places.push_back({frame, strip, std::move(flats), px_per_mm});
  }
  return places;
}

std::optional<Blade> find_blade(const LaneImage& image, std::vector<Located> places,
                                const std::pair<double, double>& stretch,
                                const EdgeSettings& settings, double card_blur_px) {
  constexpr double kLeastScore = 0.35;   // Below this the flats are a guess.
  constexpr double kNearlyAsWell = 0.8;  // Of the best one's score.
  struct Contender {
    Located place;
    Inner inner;
    double score;
  };
  std::vector<Contender> contenders;
  for (Located& place : places) {
    std::optional<Inner> inner = find_inner(image, place, stretch, settings, card_blur_px);
    if (!inner) continue;
    const double score = support(place, *inner);
    if (score > kLeastScore) contenders.push_back({std::move(place), std::move(*inner), score});
  }
  if (contenders.empty()) return std::nullopt;
  std::stable_sort(contenders.begin(), contenders.end(),
                   [](const Contender& a, const Contender& b) { return a.score > b.score; });
  std::vector<FlatsPair> rivals;
  for (std::size_t i = 1; i < contenders.size(); ++i) {
    if (contenders[i].score < kNearlyAsWell * contenders.front().score) break;
    rivals.push_back(std::move(contenders[i].place.flats));
  }
  const double best_score = contenders.front().score;
  return Blade{std::move(contenders.front().place), std::move(contenders.front().inner),
               std::move(rivals), best_score};
}

}  // namespace evenbevel::edge
