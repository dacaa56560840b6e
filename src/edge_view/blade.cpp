#include "blade.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>
#include <numeric>

#include <opencv2/core/utility.hpp>

#include "card_look.hpp"
#include "evenbevel/card.hpp"
#include "pair_shape.hpp"
#include "readings.hpp"
#include "support.hpp"

namespace evenbevel::edge {
namespace {

constexpr double kTurnRad = 0.09;  // The slot is 8 mm wide: the blade cannot lie more askew.
constexpr double kAlongStepMm = 0.5;
constexpr double kLeastScore = 0.35;     // Below this the flats are a guess.
constexpr double kHopeless = 0.1;        // Not even worth a fit, before the ends are trimmed.
constexpr double kContenderShare = 0.8;  // Of the best one's score.
constexpr double kFarWeaker = 0.25;      // Than the best one's lines or land.

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

/// What may lie between the flats, one a model: scribe lines, and a land, if the profiles fit.
std::vector<Inner> find_inner(const LaneImage& image, const Located& at, const Support& support,
                              const std::pair<double, double>& stretch,
                              const EdgeSettings& settings, std::optional<double> card_blur_px) {
  constexpr double kLeastFlatsBeside = 0.35;  // Of the flats beside a ground edge.
  constexpr double kMostLogMisfit = -2.2;     // Residuals under a ninth of the contrast.
  const InnerSearch search = inner_search(at, stretch);
  InnerSearch lines_search = search;
  lines_search.gap_high_mm = std::min(search.gap_high_mm, 1.0);
  const double anywhere = support.anywhere(at.flats);
  std::vector<Inner> found;
  const auto consider = [&](Stage stage, std::vector<InnerTrace> traces) {
    const ReadingPlan plan{.stage = stage,
                           .step_mm = settings.step_mm,
                           .blur_px = card_blur_px.value_or(kUsualBlurPx),
                           .blur_is_known = card_blur_px.has_value()};
    const auto weight = [](const InnerTrace& trace) {
      return trace.strength * (trace.s_end_mm() - trace.s_begin_mm());
    };
    std::sort(traces.begin(), traces.end(),
              [&](const InnerTrace& a, const InnerTrace& b) { return weight(a) > weight(b); });
    std::optional<Inner> best;
    double most_evidence = 0.0;
    for (InnerTrace& trace : traces) {
      if (weight(trace) <= most_evidence) break;
      const double clearly_seen =
          std::max(anywhere, support.beside(at.flats, trace)) * at.width_fit;
      if (clearly_seen <= kHopeless) continue;
      const double needed = kMostLogMisfit - most_evidence / weight(trace);
      const double misfit = mean_log_misfit(image, at.frame, at.flats, trace, plan, needed);
      const double evidence = std::min(kMostLogMisfit - misfit, 1.0) * weight(trace);
      if (evidence <= most_evidence) continue;
      most_evidence = evidence;
      best = Inner{stage, std::move(trace), misfit};
    }
    if (!best) return;
    best->trace = confirmed(image, at.frame, at.flats, best->trace, plan);
    if (best->trace.places.size() >= 10) found.push_back(std::move(*best));
  };
  if (!settings.stage || *settings.stage == Stage::scribed) {
    consider(Stage::scribed, follow_lines(at.inner_strip, at.px_per_mm, lines_search));
  }
  if (!settings.stage || *settings.stage != Stage::scribed) {
    consider(Stage::ground, follow_land(at.inner_strip, at.px_per_mm, search));
  }
  for (Inner& inner : found) {
    if (inner.stage == Stage::scribed) continue;
    const bool flats_beside = support.beside(at.flats, inner.trace) > kLeastFlatsBeside &&
                              !gap_beside_land(at, inner.trace);
    inner.stage = settings.stage.value_or(flats_beside ? Stage::ground : Stage::bevelled);
  }
  return found;
}

/// How well a pair of borders is seen where the blade's flats must be, 0..1. Jaws run beside the
/// land too, but not beside the ricasso: that tells more.
double score(const Support& support, const FlatsPair& flats, const Inner& inner) {
  constexpr double kFullLengthMm = 50.0;
  const double length = inner.trace.s_end_mm() - inner.trace.s_begin_mm();
  const double beside = support.beside(flats, inner.trace);
  const Support::Ricassos ricassos = support.ricassos(flats, inner.trace);
  const double ricasso = ricassos.strength();
  // Flats seen on the ricasso alone are less well borne out than flats seen all along.
  constexpr double kRicassoAlone = 0.75;
  // A face with scribe lines goes on beyond them as it is; where it changes, it was a facet.
  constexpr double kLeastChange = 0.3, kFacetShare = 0.5;
  const bool facets =
      support.change_at_ricasso(flats, inner.trace, ricassos).value_or(0.0) > kLeastChange;
  const double rims = inner.stage == Stage::scribed  ? (facets ? kFacetShare : 1.0) * beside
                      : inner.stage == Stage::ground ? 0.5 * beside + 0.5 * ricasso
                                                     : kRicassoAlone * ricasso;
  return rims * std::min(1.0, length / kFullLengthMm);
}

struct Contender {
  Located place;
  Inner inner;
  double score;
};

/// A line's stretch in another frame's coordinates.
StripLine in_frame(const StripLine& line, double s_begin_mm, double s_end_mm,
                   const StripFrame& from, const StripFrame& to) {
  const auto at = [&](double s) { return to.at(from.pixel(s, line.t_mm(s))); };
  const Eigen::Vector2d begin = at(s_begin_mm), end = at(s_end_mm);
  const double slope = (end.y() - begin.y()) / (end.x() - begin.x());
  return {begin.y() - slope * begin.x(), slope};
}

/// A pair's lines in another frame's coordinates.
FlatsPair in_frame(const Located& place, const StripFrame& frame) {
  FlatsPair pair = place.flats;
  const auto moved = [&](const StripLine& line) {
    return in_frame(line, pair.s_begin_mm, pair.s_end_mm, place.frame, frame);
  };
  const StripLine high = moved(pair.high), low = moved(pair.low);
  pair.s_begin_mm = frame.at(place.frame.pixel(pair.s_begin_mm, pair.mid_mm(pair.s_begin_mm))).x();
  pair.s_end_mm = frame.at(place.frame.pixel(pair.s_end_mm, pair.mid_mm(pair.s_end_mm))).x();
  pair.high = high;
  pair.low = low;
  return pair;
}

/// Whether two pairs, seen along different stretches, are the same half-way between these.
bool meet(const Located& a, const Located& b) {
  constexpr double kSamePx = 2.5;
  const double within_mm = kSamePx / a.px_per_mm;
  const FlatsPair other = in_frame(b, a.frame);
  const double s =
      0.25 * (a.flats.s_begin_mm + a.flats.s_end_mm + other.s_begin_mm + other.s_end_mm);
  return std::abs(a.flats.high.t_mm(s) - other.high.t_mm(s)) < within_mm &&
         std::abs(a.flats.low.t_mm(s) - other.low.t_mm(s)) < within_mm;
}

/// Everything that explains the picture nearly as well as the best, best first.
std::vector<Contender> contenders_of(const LaneImage& image, const std::vector<Located>& places,
                                     const std::pair<double, double>& stretch,
                                     const EdgeSettings& settings,
                                     std::optional<double> card_blur_px) {
  std::vector<std::vector<Contender>> by_place(places.size());
  cv::parallel_for_(cv::Range(0, static_cast<int>(places.size())), [&](const cv::Range& range) {
    for (int i = range.start; i < range.end; ++i) {
      const auto at = static_cast<std::size_t>(i);
      const Located& place = places[at];
      const Support support(place.strip, place.px_per_mm);
      std::vector<Inner> found = find_inner(image, place, support, stretch, settings, card_blur_px);
      double least = 0.0;
      for (const Inner& inner : found) least = std::min(least, inner.log_misfit);
      for (Inner& inner : found) {
        const double points = place.width_fit * score(support, place.flats, inner) *
                              std::exp(least - inner.log_misfit);
        if (points > kLeastScore) by_place[at].push_back({place, std::move(inner), points});
      }
    }
  });
  std::vector<Contender> contenders;
  for (std::vector<Contender>& some : by_place) {
    contenders.insert(contenders.end(), std::make_move_iterator(some.begin()),
                      std::make_move_iterator(some.end()));
  }
  std::stable_sort(contenders.begin(), contenders.end(),
                   [](const Contender& a, const Contender& b) { return a.score > b.score; });
  if (contenders.empty()) return contenders;
  const double least_score = kContenderShare * contenders.front().score;
  std::erase_if(contenders, [least_score](const Contender& c) { return c.score < least_score; });
  return contenders;
}

/// Flats on the ricasso that go on beside the land: the pair seen all along says the same and more.
void prefer_seen_along(std::vector<Contender>& contenders) {
  const Contender& best = contenders.front();
  if (best.inner.stage != Stage::bevelled) return;
  const auto along =
      std::find_if(contenders.begin(), contenders.end(), [&best](const Contender& c) {
        return c.inner.stage == Stage::ground && meet(best.place, c.place);
      });
  if (along != contenders.end()) std::iter_swap(contenders.begin(), along);
}

/// How well a pair's distance fits what is usual, 0..1.
double width_fits(const FlatsPair& flats, double px_per_mm, const FlatsSearch& search) {
  constexpr double kBordersPx = 0.7;  // Two borders of a coarse strip.
  if (search.width_usual_u_mm <= 0.0) return 1.0;
  const double width = flats.width_mm(0.5 * (flats.s_begin_mm + flats.s_end_mm));
  const double off =
      (width - search.width_usual_mm) / std::hypot(search.width_usual_u_mm, kBordersPx / px_per_mm);
  return std::exp(-0.5 * off * off);
}

float total_strength(const FlatsPair& pair) {
  return std::accumulate(pair.seen.begin(), pair.seen.end(), 0.0F);
}

/// Whether a strip laid along one of two pairs serves the other too.
bool lies_alike(const FlatsPair& a, const FlatsPair& b) {
  constexpr double kMostTurn = 0.003, kMostApartMm = 1.5;
  const double s = 0.5 * (a.s_begin_mm + a.s_end_mm);
  const auto slope = [](const FlatsPair& pair) { return 0.5 * (pair.high.slope + pair.low.slope); };
  return std::abs(slope(a) - slope(b)) < kMostTurn &&
         std::abs(a.mid_mm(s) - b.mid_mm(s)) < kMostApartMm;
}

struct Strips {
  CoarseStrip flats, grey;
};

Strips strips_along(const LaneImage& image, const StripFrame& frame,
                    const std::pair<double, double>& stretch, double mid_mm, double dt_mm) {
  constexpr double kEitherSideMm = 5.0;
  const StripRange range{stretch.first, stretch.second, mid_mm - kEitherSideMm,
                         mid_mm + kEitherSideMm};
  CoarseStrip flats = coarse_strip(image, &LaneImage::flats, frame, range, kAlongStepMm, dt_mm);
  CoarseStrip grey = image.dyed()
                         ? coarse_strip(image, &LaneImage::grey, frame, range, kAlongStepMm, dt_mm)
                         : flats;
  return {std::move(flats), std::move(grey)};
}

/// Pairs of borders in a strip laid along a rough one.
std::vector<Located> look_along(const LaneImage& image, const StripFrame& on_lane,
                                const std::pair<double, double>& stretch, const FlatsPair& rough,
                                FlatsSearch search, double least_support_mm) {
  constexpr int kMost = 8;
  const double px_per_mm = on_lane.px_per_mm_across(0.5 * (stretch.first + stretch.second), 0.0);
  const double dt = 0.5 / px_per_mm;
  const double slope = 0.5 * (rough.high.slope + rough.low.slope);
  const StripFrame frame = on_lane.turned(on_lane.direction_rad() - std::atan(slope));
  search.turn_rad = 0.012;
  search.smooth_along_mm = 8.0;
  search.least_gradient = 0.6F;
  if (search.mid) {
    search.mid->line =
        in_frame(search.mid->line, search.mid->s_begin_mm, search.mid->s_end_mm, on_lane, frame);
  }
  const Strips strips = strips_along(image, frame, stretch, rough.mid_mm(0.0), dt);
  std::vector<Located> places;
  for (FlatsPair& flats : find_flats(strips.flats, px_per_mm, search, least_support_mm, kMost)) {
    const double width_fit = width_fits(flats, px_per_mm, search);
    places.push_back({frame, strips.flats, strips.grey, std::move(flats), px_per_mm, width_fit});
  }
  return places;
}

}  // namespace

std::vector<Located> locate(const LaneImage& image, const StripFrame& on_lane,
                            const std::pair<double, double>& stretch, FlatsSearch search,
                            double least_support_mm) {
  constexpr int kMostRough = 4;
  const double reach = 0.5 * card_layout(CardKind::edge).lane_mm().sizes().y() - 0.5;
  const double px_per_mm = on_lane.px_per_mm_across(0.5 * (stretch.first + stretch.second), 0.0);
  const double dt = 0.5 / px_per_mm;
  search.turn_rad = kTurnRad;
  const CoarseStrip first =
      coarse_strip(image, &LaneImage::flats, on_lane,
                   {stretch.first, stretch.second, -reach, reach}, kAlongStepMm, dt);
  const std::vector<FlatsPair> rough =
      find_flats(first, px_per_mm, search, 0.5 * least_support_mm, kMostRough);
  if (rough.empty()) return {};
  // Scratches make the most votes here and there, a clear pair the strongest ones.
  const auto clearest = std::max_element(
      rough.begin(), rough.end(),
      [](const FlatsPair& a, const FlatsPair& b) { return total_strength(a) < total_strength(b); });
  std::vector<Located> places =
      look_along(image, on_lane, stretch, rough.front(), search, least_support_mm);
  if (!lies_alike(*clearest, rough.front())) {
    std::vector<Located> more =
        look_along(image, on_lane, stretch, *clearest, search, least_support_mm);
    places.insert(places.end(), std::make_move_iterator(more.begin()),
                  std::make_move_iterator(more.end()));
  }
  return places;
}

Located laid_along(const LaneImage& image, const Located& place, const StripLine& line,
                   const std::pair<double, double>& stretch) {
  Located out = place;
  out.frame = place.frame.turned(place.frame.direction_rad() - std::atan(line.slope));
  out.flats = in_frame(place, out.frame);
  Strips strips = strips_along(image, out.frame, stretch, out.flats.mid_mm(0.0), place.strip.dt_mm);
  out.strip = std::move(strips.flats);
  out.inner_strip = std::move(strips.grey);
  return out;
}

std::optional<Blade> find_blade(const LaneImage& image, const std::vector<Located>& places,
                                const std::pair<double, double>& stretch,
                                const EdgeSettings& settings, std::optional<double> card_blur_px) {
  std::vector<Contender> contenders = contenders_of(image, places, stretch, settings, card_blur_px);
  if (contenders.empty()) return std::nullopt;
  prefer_seen_along(contenders);
  const Contender& best = contenders.front();
  std::vector<FlatsPair> rivals;
  for (std::size_t i = 1; i < contenders.size(); ++i) {
    const Contender& other = contenders[i];
    if (other.inner.trace.strength < kFarWeaker * best.inner.trace.strength) continue;
    const bool same_stage = other.inner.stage == best.inner.stage;
    const bool lines = best.inner.stage == Stage::scribed || other.inner.stage == Stage::scribed;
    // Lines and a land that explain a picture about equally well: say nothing.
    if (!same_stage && lines) return std::nullopt;
    if (same_stage || !meet(best.place, other.place))
      rivals.push_back(in_frame(other.place, best.place.frame));
  }
  return Blade{best.place, best.inner, std::move(rivals), best.score};
}

}  // namespace evenbevel::edge
