#include "anatomy.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <limits>
#include <optional>
#include <span>
#include <type_traits>
#include <utility>
#include <vector>

#include <opencv2/core/utility.hpp>

#include "evenbevel/error.hpp"
#include "evenbevel/fit.hpp"
#include "land_path.hpp"
#include "pair_shape.hpp"
#include "plunge.hpp"
#include "readings.hpp"
#include "refusals.hpp"
#include "ricasso.hpp"
#include "sites.hpp"

namespace evenbevel::edge {
namespace {

constexpr double kKeepOutMm = 0.12;  // Beside the land or the lines there is no rim.
constexpr double kFilletMm = 3.0;    // From a plunge line on the land has its width.
constexpr double kLeastRicassoMm = 5.0;
constexpr double kLeastZoneMm = 10.0;
constexpr double kSureOdds = 4.0;       // Log odds: fifty to one.
constexpr double kLeastRims = -14.0;    // Log score of rims that are still borne out.
constexpr double kLeastBeside = -9.0;   // Of those beside a ground edge: else it is bevelled.
constexpr double kLeastRicasso = -6.0;  // Of the ricasso's where it stands alone.
constexpr double kMisfitWeight = 4.0;   // Log score per log of the profiles' residuals.
constexpr double kMatters = 0.04;       // mm, of the middle.

/// What `read` makes of each of them, side by side; in their order, without those that say nothing.
template <class Thing, class Read>
auto read_each(std::span<const Thing> things, const Read& read) {
  using Reading = typename std::invoke_result_t<Read, const Thing&>::value_type;
  std::vector<std::optional<Reading>> all(things.size());
  cv::parallel_for_(cv::Range(0, static_cast<int>(things.size())), [&](const cv::Range& range) {
    for (int i = range.start; i < range.end; ++i) {
      const auto at = static_cast<std::size_t>(i);
      all[at] = read(things[at]);
    }
  });
  std::vector<Reading> readings;
  for (std::optional<Reading>& reading : all) {
    if (reading) readings.push_back(std::move(*reading));
  }
  return readings;
}

/// Everything about one photo that the steps below need.
struct Look {
  const LaneImage& image;
  const std::pair<double, double>& stretch;
  const FlatsSearch& search;
  const EdgeSettings& settings;
  double blur_px;
  bool blur_is_known;
  /// Log odds, by light and texture alone, from which on outlines of facets are looked at.
  double worth_a_look = 4.0;

  double thickness_mm() const { return settings.thickness_mm; }
  RimSearch rims(const StripLine& middle, double begin_mm, double end_mm, double keep_out_mm,
                 bool face) const {
    return {.s_begin_mm = begin_mm,
            .s_end_mm = end_mm,
            .middle = middle,
            .keep_out_mm = keep_out_mm,
            .width_low_mm = search.width_low_mm,
            .width_high_mm = search.width_high_mm,
            .width_usual_mm = search.width_usual_mm,
            .width_usual_u_mm = search.width_usual_u_mm,
            .blur_px = blur_px,
            .mid = search.mid,
            .broken_corners = face};
  }
};

FlatsPair pair_of(const RimPair& rims) {
  FlatsPair pair;
  pair.high = rims.high.line;
  pair.low = rims.low.line;
  pair.s_begin_mm = rims.s_begin_mm;
  pair.s_end_mm = rims.s_end_mm;
  pair.support_mm = rims.s_end_mm - rims.s_begin_mm;
  return pair;
}

void keep_between(InnerTrace& trace, double begin_mm, double end_mm) {
  std::erase_if(trace.places,
                [&](const InnerTrace::Place& p) { return p.s_mm < begin_mm || p.s_mm > end_mm; });
}

double length_mm(const InnerTrace& trace) {
  return trace.places.empty() ? 0.0 : trace.s_end_mm() - trace.s_begin_mm();
}

/// How far from the middle line the land or the lines reach.
double reach_of(const InnerTrace& trace, const StripLine& middle) {
  double reach = 0.0;
  for (const InnerTrace::Place& p : trace.places) {
    const double mid = middle.t_mm(p.s_mm);
    reach = std::max({reach, p.high_mm - mid, mid - p.low_mm});
  }
  return reach;
}

double misfit_of(const Look& look, const Located& at, const InnerTrace& trace, Stage stage) {
  const ReadingPlan plan{.stage = stage,
                         .step_mm = look.settings.step_mm,
                         .blur_px = look.blur_px,
                         .blur_is_known = look.blur_is_known};
  return mean_log_misfit(look.image, at.frame, at.flats, trace, plan, 0.0);
}

/// Where the ricasso's rims must show beside the land: facets end deeper, and what lies deeper is
/// seen shifted toward the camera's foot.
double seen_beside_mm(const RimPair& ricasso, double s_mm, const StripFrame& frame,
                      double depth_mm) {
  const Eigen::Vector3d camera = frame.camera_mm();
  const double distance = camera.z() - frame.reference_height_mm();
  const double mid = ricasso.mid_mm(s_mm);
  return camera.y() + (mid - camera.y()) * distance / (distance + depth_mm);
}

/// How far a straight line through the ricasso's rims may be off at a place beside the land.
double carried_u_mm(const RimPair& ricasso, double s_mm, double px_per_mm) {
  constexpr double kLinePx = 0.3, kBowMm = 0.02;  // Stock out of flat, per (100 mm)^2.
  const double length = std::max(ricasso.s_end_mm - ricasso.s_begin_mm, 1.0);
  const double beyond = std::max({ricasso.s_begin_mm - s_mm, s_mm - ricasso.s_end_mm, 0.0});
  const double tilt = 0.1 * kLinePx / px_per_mm / length;
  return std::hypot(std::hypot(kLinePx / px_per_mm, tilt * (beyond + 0.5 * length)),
                    kBowMm * beyond * beyond * 1e-4);
}

struct Choice {
  std::optional<RimPair> beside, ricasso;
  double log_score = 0.0;
  double mid_mm = 0.0;    ///< At the middle of the land.
  double apart_mm = 0.0;  ///< Of the two middles, where they do not go together.
};

/// Rims beside the land and on the ricasso as the same two flats', and what speaks against it.
Choice together(const RimPair& beside, const RimPair& ricasso, const Located& at,
                double thickness_mm, double s_mm) {
  constexpr double kLinePx = 0.3;
  constexpr double kApart = 2.0;      // Standard uncertainties.
  constexpr double kMostCost = 12.0;  // A wrong pair is as wrong however far off.
  const double depth = kFacetDepthShare * thickness_mm, mid = beside.mid_mm(s_mm);
  const double off = mid - seen_beside_mm(ricasso, s_mm, at.frame, depth);
  const double z =
      off / std::hypot(carried_u_mm(ricasso, s_mm, at.px_per_mm), kLinePx / at.px_per_mm);
  const auto cost = [&](double of) { return std::min(0.5 * of * of, kMostCost); };
  Choice out{beside, ricasso, beside.log_score + ricasso.log_score - cost(z), mid};
  if (std::abs(z) > kApart && std::abs(off) > kMatters) out.apart_mm = std::abs(off);
  return out;
}

/// Rims beside the land and on the ricasso, together; likeliest first.
std::vector<Choice> choices_of(const std::vector<RimPair>& beside,
                               const std::vector<RimPair>& ricasso, const Located& at,
                               double thickness_mm, double s_mm) {
  constexpr std::size_t kMost = 12;
  // The ricasso's rims may not show where other borders do; not if these look like rims. Log odds,
  // set on 48 ground edges and 48 full bevels under lamps.
  constexpr double kNoneOfThese = -5.0, kHardlyRims = -3.0;
  const bool hardly = !ricasso.empty() && ricasso.front().log_score < kHardlyRims;
  std::vector<Choice> all;
  for (std::size_t i = 0; i < std::min(beside.size(), kMost); ++i) {
    if (ricasso.empty() || hardly) {
      all.push_back({beside[i], std::nullopt, beside[i].log_score + (hardly ? kNoneOfThese : 0.0),
                     beside[i].mid_mm(s_mm)});
    }
    for (std::size_t k = 0; k < std::min(ricasso.size(), kMost); ++k)
      all.push_back(together(beside[i], ricasso[k], at, thickness_mm, s_mm));
  }
  std::sort(all.begin(), all.end(),
            [](const Choice& a, const Choice& b) { return a.log_score > b.log_score; });
  return all;
}

/// What the choice leaves open of the middle: the other choices' distances, by their probability.
/// Those that even together are less likely than one in forty lie outside of a 95 % interval.
/// @throws Error  One of them is nearly as likely and matters.
double open_mm(const std::vector<Choice>& choices) {
  constexpr double kNearlyAsLikely = 2.5;
  constexpr double kOutside = 0.025;
  double all = 0.0;
  for (const Choice& other : choices) all += std::exp(other.log_score - choices.front().log_score);
  double sum = 0.0, total = 0.0;
  for (const Choice& other : choices) {
    const double behind = choices.front().log_score - other.log_score;
    const double apart = std::abs(other.mid_mm - choices.front().mid_mm);
    if (behind < kNearlyAsLikely && apart > kMatters) {
      throw Error("two pairs of borders could be the blade's flats, " + length_words(apart, 2) +
                      " apart in the middle, and the photo does not say which is right",
                  "light both flats so that their rims stand out from the jaws (a sheet of white "
                  "paper beside "
                  "the darker jaw does it), move the camera straight over the edge, and take the "
                  "photo again");
    }
    if (all - total < kOutside * all) break;
    const double p = std::exp(-behind);
    total += p;
    sum += p * apart * apart;
  }
  return total > 0.0 ? std::sqrt(sum / total) : 0.0;
}

/// A reading of the photo: what lies where.
struct Explanation {
  Anatomy anatomy;
  std::vector<Choice> choices;
};

struct Handle {
  int side = 0;
  double log_odds = 0.0;     ///< Against the other side.
  double plunge_s_mm = 0.0;  ///< Where the facets end, roughly.
};

/// On which side the facets end in plunge lines. Light and texture say where that may be; the
/// outlines of both facets must bear it out, and it must lie on the blade.
Handle handle_of(const Look& look, const Site& site, const InnerTrace& land,
                 const std::pair<double, double>& blade_mm) {
  constexpr double kLeastLogOdds = 30.0;  // Ends without plunge lines give up to 25, real ones 40
                                          // and more, most of them hundreds.
  const Located& at = site.place;
  Handle best;
  double other = 0.0;
  for (const int side : {-1, +1}) {
    const RicassoSign sign = ricasso_sign(site.grey, at.flats, land, side);
    const double end = side > 0 ? blade_mm.second : blade_mm.first;
    if (sign.log_odds < look.worth_a_look || side * (sign.plunge_s_mm - end) > kFilletMm) continue;
    InnerTrace trace = land;
    keep_between(trace, side < 0 ? sign.plunge_s_mm : land.s_begin_mm(),
                 side > 0 ? sign.plunge_s_mm : land.s_end_mm());
    if (length_mm(trace) < kLeastZoneMm) continue;
    const double log_odds =
        plunge_evidence(look.image, at.frame, at.flats, trace, Stage::ground, side, look.blur_px);
    if (log_odds > std::max(best.log_odds, kLeastLogOdds)) {
      other = best.log_odds;
      best = {side, log_odds, sign.plunge_s_mm};
    } else {
      other = std::max(other, log_odds);
    }
  }
  best.log_odds -= std::max(other, 0.0);
  if (best.log_odds < kLeastLogOdds) return {};
  return best;
}

/// A land as one site shows it.
struct Land {
  Site site;
  InnerTrace trace;

  double evidence() const { return trace.strength * length_mm(trace); }
};

/// Places that differ only in where the flats may lie show the same land.
bool same_land(const Land& a, const Land& b) {
  constexpr double kApartMm = 0.1;
  const StripFrame &from = a.site.place.frame, &to = b.site.place.frame;
  const double s = 0.5 * (a.trace.s_begin_mm() + a.trace.s_end_mm());
  const InnerTrace::Place at = a.trace.at(s);
  const Eigen::Vector2d low = to.at(from.pixel(s, at.low_mm)),
                        high = to.at(from.pixel(s, at.high_mm));
  const InnerTrace::Place other = b.trace.at(low.x());
  return std::abs(low.y() - other.low_mm) < kApartMm &&
         std::abs(high.y() - other.high_mm) < kApartMm;
}

std::optional<InnerTrace> follow_land_on(const Look& look, const Site& site) {
  std::vector<CoarseStrip> colours{site.grey};
  if (look.image.dyed()) colours.push_back(site.flats);
  return follow_land_path(colours, site.place.px_per_mm,
                          inner_search(site, look.thickness_mm(), look.stretch));
}

StripLine middle_of(const InnerTrace& trace) {
  std::vector<Eigen::Vector2d> middles;
  for (const InnerTrace::Place& place : trace.places)
    middles.emplace_back(place.s_mm, place.mid_mm());
  const LineFit line = fit_line_robust(middles);
  const double slope = std::tan(line.direction_rad);
  return {line.centre.y() - slope * line.centre.x(), slope};
}

/// Jaws may lie askew to the blade, and a site along a jaw: rims are then looked for along a wrong
/// direction. A land runs along its blade: where it runs aslant, it is looked at again along
/// itself.
Land laid_straight(const Look& look, Land land) {
  constexpr double kAslant = 0.002;  // A land that tapers by 0.2 mm over 100 mm.
  constexpr std::size_t kLeastPlaces = 10;
  if (land.trace.places.size() < kLeastPlaces) return land;
  const StripLine along = middle_of(land.trace);
  if (std::abs(along.slope) < kAslant) return land;
  Located place = land.site.place;
  const double half = 0.5 * place.flats.width_mm(0.0);
  place.flats.high = {along.at_zero_mm + half, along.slope};
  place.flats.low = {along.at_zero_mm - half, along.slope};
  Site site = site_of(look.image, laid_along(look.image, place, along, look.stretch), look.stretch,
                      look.thickness_mm());
  std::optional<InnerTrace> trace = follow_land_on(look, site);
  if (!trace) return land;
  return {std::move(site), std::move(*trace)};
}

/// What may be a land, the plainest first, each once.
std::vector<Land> lands_of(const Look& look, const std::vector<Site>& sites) {
  constexpr std::size_t kMost = 4;
  std::vector<Land> all = read_each(std::span(sites), [&](const Site& site) -> std::optional<Land> {
    auto trace = follow_land_on(look, site);
    if (!trace) return std::nullopt;
    return laid_straight(look, {site, std::move(*trace)});
  });
  std::stable_sort(all.begin(), all.end(),
                   [](const Land& a, const Land& b) { return a.evidence() > b.evidence(); });
  std::vector<Land> out;
  for (Land& land : all) {
    const bool known = std::any_of(out.begin(), out.end(),
                                   [&](const Land& other) { return same_land(other, land); });
    if (!known) out.push_back(std::move(land));
    if (out.size() == kMost) break;
  }
  return out;
}

/// Rims of the ricasso, between the plunge lines and the end of the blade on the handle's side;
/// empty optional: too little of it is in view.
std::optional<std::vector<RimPair>> ricasso_rims(const Look& look, const Site& site,
                                                 const Handle& handle, double low_end,
                                                 double high_end) {
  constexpr double kEndMm = 1.5, kPlungeMm = 2.5;  // Left out at either end.
  const int side = handle.side;
  if (side == 0) return std::nullopt;
  const double far = side < 0 ? low_end + kEndMm : high_end - kEndMm;
  const double near = handle.plunge_s_mm + side * kPlungeMm;
  if (std::abs(far - near) < kLeastRicassoMm || side * (far - near) <= 0.0) return std::nullopt;
  return find_rims(look.image, site.flats, site.place.frame, site.place.px_per_mm,
                   look.rims(site.middle, std::min(far, near), std::max(far, near),
                             0.25 * look.thickness_mm(), true));
}

std::optional<Explanation> read_land(const Look& look, const Land& seen) {
  const Site& site = seen.site;
  const InnerTrace* land = &seen.trace;
  Explanation out{.anatomy = {.at = site.place, .inner = {}}, .choices = {}};
  Located& at = out.anatomy.at;
  // Ends of the blade, from the middle of what was followed.
  const double start = 0.5 * (land->s_begin_mm() + land->s_end_mm());
  const double low_end = blade_end_mm(site.grey, at.flats, *land, start, -1, look.stretch.first);
  const double high_end = blade_end_mm(site.grey, at.flats, *land, start, +1, look.stretch.second);
  InnerTrace on_blade = *land;
  keep_between(on_blade, low_end, high_end);
  if (length_mm(on_blade) < kLeastZoneMm) return std::nullopt;
  const Handle handle_at = handle_of(look, site, on_blade, {low_end, high_end});
  const int handle = handle_at.side;
  out.anatomy.handle = handle;
  out.anatomy.handle_log_odds = handle_at.log_odds;
  double begin = low_end + 1.0, end = high_end - 1.0;
  if (handle < 0) begin = std::max(begin, handle_at.plunge_s_mm);
  if (handle > 0) end = std::min(end, handle_at.plunge_s_mm);
  InnerTrace trace = on_blade;
  keep_between(trace, begin, end);
  if (length_mm(trace) < kLeastZoneMm) return std::nullopt;
  out.anatomy.inner = {Stage::ground, trace, misfit_of(look, at, trace, Stage::ground)};
  const double zone_begin = trace.s_begin_mm() + (handle < 0 ? kFilletMm : 0.0);
  const double zone_end = trace.s_end_mm() - (handle > 0 ? kFilletMm : 0.0);
  if (zone_end - zone_begin < kLeastZoneMm) return std::nullopt;
  const double keep_out = reach_of(trace, site.middle) + kKeepOutMm;
  const std::vector<RimPair> beside =
      find_rims(look.image, site.flats, at.frame, at.px_per_mm,
                look.rims(site.middle, zone_begin, zone_end, keep_out, false));
  const auto in_view = ricasso_rims(look, site, handle_at, low_end, high_end);
  out.anatomy.ricasso_hidden = in_view && in_view->empty();
  const std::vector<RimPair> ricasso = in_view.value_or(std::vector<RimPair>{});
  const double s = 0.5 * (zone_begin + zone_end);
  out.choices = choices_of(beside, ricasso, at, look.thickness_mm(), s);
  const bool ground = !out.choices.empty() && out.choices.front().log_score > kLeastBeside;
  const Stage stage = look.settings.stage.value_or(ground ? Stage::ground : Stage::bevelled);
  if (stage == Stage::scribed) return std::nullopt;
  if (stage == Stage::bevelled) {
    if (ricasso.empty() || handle == 0 || ricasso.front().log_score < kLeastRicasso)
      return std::nullopt;
    out.choices.clear();
    for (const RimPair& pair : ricasso)
      out.choices.push_back({std::nullopt, pair, pair.log_score, pair.mid_mm(s)});
  }
  if (out.choices.empty() || out.choices.front().log_score < kLeastRims) return std::nullopt;
  const Choice& best = out.choices.front();
  out.anatomy.inner.stage = stage;
  out.anatomy.beside = best.beside;
  out.anatomy.ricasso = best.ricasso;
  at.flats = pair_of(best.beside ? *best.beside : *best.ricasso);
  out.anatomy.log_score = best.log_score - kMisfitWeight * out.anatomy.inner.log_misfit +
                          std::min(out.anatomy.handle_log_odds, 8.0) +
                          0.05 * std::min(length_mm(trace), 100.0) -
                          (stage == Stage::bevelled ? 3.0 : 0.0);
  return out;
}

/// Whether both rims of two pairs are borders of the same broken corners, which are told apart
/// later.
bool same_corners(const RimPair& a, const RimPair& b, double s_mm, double px_per_mm) {
  constexpr double kOwnPx = 3.0;  // A corner as a phone's picture chain smears it.
  return std::abs(a.high.line.t_mm(s_mm) - b.high.line.t_mm(s_mm)) * px_per_mm < kOwnPx &&
         std::abs(a.low.line.t_mm(s_mm) - b.low.line.t_mm(s_mm)) * px_per_mm < kOwnPx;
}

std::optional<Explanation> read_lines(const Look& look, const Site& site) {
  InnerSearch search = inner_search(site, look.thickness_mm(), look.stretch);
  search.gap_high_mm = std::min(search.gap_high_mm, 1.0);
  const Located& place = site.place;
  std::optional<InnerTrace> best;
  double least = 1e9, best_evidence = 0.0;
  for (InnerTrace& trace : follow_lines(place.inner_strip, place.px_per_mm, search)) {
    const double misfit = misfit_of(look, place, trace, Stage::scribed);
    const double evidence = std::min(-2.2 - misfit, 1.0) * trace.strength * length_mm(trace);
    if (evidence <= best_evidence) continue;
    best_evidence = evidence;
    least = misfit;
    best = std::move(trace);
  }
  if (!best) return std::nullopt;
  const ReadingPlan plan{.stage = Stage::scribed,
                         .step_mm = look.settings.step_mm,
                         .blur_px = look.blur_px,
                         .blur_is_known = look.blur_is_known};
  InnerTrace trace = confirmed(look.image, place.frame, place.flats, *best, plan);
  if (trace.places.size() < 10 || length_mm(trace) < kLeastZoneMm) return std::nullopt;
  const double keep_out = reach_of(trace, site.middle) + kKeepOutMm;
  RimSearch search_rims =
      look.rims(site.middle, trace.s_begin_mm(), trace.s_end_mm(), keep_out, true);
  search_rims.dye = dye_ends(look.image, place.frame, place.px_per_mm,
                             {.s_begin_mm = trace.s_begin_mm(),
                              .s_end_mm = trace.s_end_mm(),
                              .middle = site.middle,
                              .least_mm = 0.3 * look.thickness_mm(),
                              .most_mm = 0.5 * search_rims.width_high_mm + kReachMm});
  std::vector<RimPair> rims =
      find_rims(look.image, site.flats, place.frame, place.px_per_mm, search_rims);
  if (look.image
          .dyed()) {  // Compression smears colour: where the rims show in grey, that is sharper.
    search_rims.light = &LaneImage::grey;
    std::vector<RimPair> in_grey =
        find_rims(look.image, site.grey, place.frame, place.px_per_mm, search_rims);
    if (rims.empty() || (!in_grey.empty() && in_grey.front().log_score > rims.front().log_score))
      rims = std::move(in_grey);
  }
  if (rims.empty() || rims.front().log_score < kLeastRims) {
    const std::optional<RimPair> by_dye = rims_by_dye(place.frame, place.px_per_mm, search_rims);
    if (!by_dye) return std::nullopt;
    rims = {*by_dye};
  }
  Explanation out{.anatomy = {.at = place, .inner = {}}, .choices = {}};
  out.anatomy.at.flats = pair_of(rims.front());
  const double s = 0.5 * (trace.s_begin_mm() + trace.s_end_mm());
  for (const RimPair& pair : rims) {
    if (&pair != &rims.front() && same_corners(pair, rims.front(), s, place.px_per_mm)) continue;
    out.choices.push_back({pair, std::nullopt, pair.log_score, pair.mid_mm(s)});
  }
  out.anatomy.beside = rims.front();
  out.anatomy.inner = {Stage::scribed, std::move(trace), least};
  out.anatomy.log_score = rims.front().log_score - kMisfitWeight * least +
                          0.05 * std::min(length_mm(out.anatomy.inner.trace), 100.0);
  return out;
}

/// @throws Error  Two lines on a face explain the profiles better than the land does.
void require_no_lines(const Anatomy& land, const std::vector<Explanation>& readings) {
  constexpr double kClearlyBetter = 0.3;  // Of a log residual.
  for (const Explanation& other : readings) {
    const Inner& lines = other.anatomy.inner;
    if (lines.stage != Stage::scribed || lines.log_misfit > land.inner.log_misfit - kClearlyBetter)
      continue;
    throw Error("whether two scribed lines or a ground edge are seen, the photo does not say",
                "give --shows scribed, or --shows ground");
  }
}

/// @throws Error  What was followed runs aslant or jumps: a height gauge scribes straight lines.
void require_straight_lines(const Anatomy& anatomy) {
  constexpr double kStraightMm = 0.05, kReadPx = 1.0, kMostStray = 0.1;
  std::vector<Eigen::Vector2d> middles;
  for (const InnerTrace::Place& place : anatomy.inner.trace.places)
    middles.emplace_back(place.s_mm, place.mid_mm());
  const LineFit line = fit_line_robust(middles);
  const double most = kStraightMm + kReadPx / anatomy.at.px_per_mm;
  const auto stray = std::count_if(middles.begin(), middles.end(), [&](const Eigen::Vector2d& p) {
    return std::abs(line.direction().x() * (p - line.centre).y() -
                    line.direction().y() * (p - line.centre).x()) > most;
  });
  if (static_cast<double>(stray) < kMostStray * static_cast<double>(middles.size())) return;
  throw Error(
      "the scribe lines could not be followed along the blade: what was found is not straight",
      "light the edge evenly along its length, so that the lines do not turn from bright to "
      "dark, wipe it, and take the photo again");
}

/// @throws Error  Another reading of the photo has another land and is nearly as likely.
void require_one_land(const Anatomy& best, const std::vector<Explanation>& readings) {
  constexpr double kNearlyAsLikely = 5.0;
  constexpr double kSameBladeMm = 1.5;  // Farther off it is no rival for the same land.
  const InnerTrace& land = best.inner.trace;
  const double s = 0.5 * (land.s_begin_mm() + land.s_end_mm());
  const Eigen::Vector2d at = best.at.frame.pixel(s, land.at(s).mid_mm());
  for (const Explanation& other : readings) {
    const Anatomy& rival = other.anatomy;
    if (rival.inner.stage == Stage::scribed || rival.handle == 0) continue;
    if (best.log_score - rival.log_score > kNearlyAsLikely) continue;
    const Eigen::Vector2d there = rival.at.frame.at(at);
    const double apart = std::abs(rival.inner.trace.at(there.x()).mid_mm() - there.y());
    if (apart < kMatters || apart > kSameBladeMm) continue;
    throw Error(
        "two pairs of borders could be the land's, " + length_words(apart, 2) +
            " apart in the middle, and the photo does not say which is right",
        "light both facets alike (a sheet of white paper beside the darker jaw does it), so "
        "that nothing but the land's borders shows between them, and take the photo again");
  }
}

/// Every way to explain the photo, the likeliest first.
std::vector<Explanation> readings_of(const Look& look, const std::vector<Site>& sites) {
  constexpr std::size_t kMostForLines = 4;
  const std::optional<Stage> stage = look.settings.stage;
  std::vector<Explanation> readings;
  if (stage != Stage::scribed) {
    const std::vector<Land> lands = lands_of(look, sites);
    readings = read_each(std::span(lands), [&](const Land& land) { return read_land(look, land); });
  }
  if (!stage || stage == Stage::scribed) {
    std::ranges::move(read_each(std::span(sites).first(std::min(sites.size(), kMostForLines)),
                                [&](const Site& site) { return read_lines(look, site); }),
                      std::back_inserter(readings));
  }
  std::sort(readings.begin(), readings.end(), [](const Explanation& a, const Explanation& b) {
    return a.anatomy.log_score > b.anatomy.log_score;
  });
  return readings;
}

/// Rims beside a land that do not go with the ricasso's may be a jaw's border beside full bevels:
/// the middle is the one's or, as likely, the other's.
void doubt_stage(Anatomy& anatomy, const Choice& choice) {
  if (choice.apart_mm == 0.0) return;
  anatomy.stage_doubted = true;
  anatomy.which_u_mm = std::hypot(anatomy.which_u_mm, choice.apart_mm / std::sqrt(2.0));
}

/// The first that stands. Empty: none does.
/// @throws Error  Another is about as likely and says something else.
std::optional<Anatomy> likeliest(std::vector<Explanation> readings, const EdgeSettings& settings) {
  for (Explanation& reading : readings) {
    Anatomy& anatomy = reading.anatomy;
    // Lines on a face pass for a land where nothing shows that the face ends.
    if (anatomy.inner.stage != Stage::scribed && anatomy.handle == 0 && !settings.stage) continue;
    if (anatomy.inner.stage != Stage::scribed) {
      if (!settings.stage) require_no_lines(anatomy, readings);
      require_one_land(anatomy, readings);
    } else {
      require_straight_lines(anatomy);
    }
    anatomy.which_u_mm = open_mm(reading.choices);
    if (!settings.stage) doubt_stage(anatomy, reading.choices.front());
    return std::move(anatomy);
  }
  return std::nullopt;
}

}  // namespace

std::optional<Anatomy> find_anatomy(const LaneImage& image, const std::vector<Located>& places,
                                    const std::pair<double, double>& stretch,
                                    const FlatsSearch& search, const EdgeSettings& settings,
                                    double card_blur_px, bool blur_is_known, LandEnds ends) {
  Look look{image, stretch, search, settings, card_blur_px, blur_is_known};
  if (ends == LandEnds::by_outlines) look.worth_a_look = -std::numeric_limits<double>::infinity();
  return likeliest(readings_of(look, sites_of(image, places, stretch, settings.thickness_mm)),
                   settings);
}

}  // namespace evenbevel::edge
