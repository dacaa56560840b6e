#include "rims.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include <Eigen/Cholesky>

#include "evenbevel/fit.hpp"

namespace evenbevel::edge {
namespace {

// A step as fitted to long bands, outward from the middle of the blade.
struct Step {
  double out_mm;           // From the rough middle line, at the middle of the stretch.
  double slope;            // Of its line.
  double step;             // Linear light, outward.
  double strength;         // Of the borders that it is made of.
  double log_prior = 0.0;  // Of being the rim.
};

constexpr double kStripInstead = -2.0;  // A flat's own face as narrow as a broken corner.

constexpr double kReachPx = 5.0;     // Borders nearer than this share their blur.
constexpr double kPullsPx = 3.6;     // And nearer than this they pull each other.
constexpr double kClusterPx = 4.5;   // Peaks nearer than this are fitted together.
constexpr double kShapePx = 0.1;     // What no profile fit tells of a border, place to place.
constexpr double kChromaPx = 1.0;    // Kept at half the picture's resolution.
constexpr double kHaloShare = 0.07;  // Sharpening and compression ring by less of a border's step.

/// A band's samples turned so that larger t is farther out.
std::vector<ProfileSample> outward(std::vector<ProfileSample> samples, int side) {
  if (side > 0) return samples;
  for (ProfileSample& s : samples) s.t_px = -s.t_px;
  std::reverse(samples.begin(), samples.end());
  return samples;
}

ProfileFit fit_steps(const std::vector<ProfileSample>& samples, std::vector<double> at_px,
                     double blur_px, double clip) {
  ProfileModel model{.positions_px = std::move(at_px),
                     .parts = {},
                     .blur_px = blur_px,
                     .blur_is_free = true,
                     .least_blur_px = 0.8 * blur_px,
                     .most_blur_px = 1.35 * blur_px,
                     .clip = clip};
  for (std::size_t i = 0; i < model.positions_px.size(); ++i) {
    model.parts.push_back({.shape = ProfilePart::Shape::step, .position = static_cast<int>(i)});
  }
  return fit_profile(samples, std::move(model));
}

bool usable(const ProfileFit& fit, double low_px, double high_px) {
  if (!fit.converged) return false;
  const std::vector<double>& at = fit.model.positions_px;
  constexpr double kLeastApartPx = 0.9;
  for (std::size_t i = 0; i < at.size(); ++i) {
    if (at[i] < low_px || at[i] > high_px) return false;
    if (i > 0 && at[i] - at[i - 1] < kLeastApartPx) return false;
  }
  return true;
}

/// The steps that a cluster of peaks is made of: as many as the profile asks for.
std::optional<ProfileFit> unravel(const std::vector<ProfileSample>& samples,
                                  const std::vector<double>& peaks_px, double blur_px,
                                  double clip) {
  constexpr double kAroundPx = 4.0, kSplitPx = 1.3;
  constexpr double kClearlyBetter = 0.55;  // Sum of squares; one step too many gains a tenth.
  constexpr std::size_t kMostSteps = 6;
  constexpr std::size_t kLeastSamples = 8;  // A blade along the pixel rows gives one a row.
  const double low = peaks_px.front() - kAroundPx, high = peaks_px.back() + kAroundPx;
  std::vector<ProfileSample> part;
  for (const ProfileSample& s : samples) {
    if (s.t_px >= low && s.t_px <= high) part.push_back(s);
  }
  if (part.size() < kLeastSamples) return std::nullopt;
  // Each step has a place and a height; background and blur come on top.
  const std::size_t most_steps = std::min(kMostSteps, (part.size() - 3) / 2);
  std::optional<ProfileFit> best;
  const auto consider = [&](std::vector<double> start) {
    ProfileFit fit = fit_steps(part, std::move(start), blur_px, clip);
    if (!usable(fit, low, high)) return false;
    if (best && fit.misfit > kClearlyBetter * best->misfit) return false;
    best = std::move(fit);
    return true;
  };
  consider(peaks_px);
  for (bool better = true; better;) {
    better = false;
    const std::vector<double> from = best ? best->model.positions_px : peaks_px;
    if (from.size() >= most_steps) break;
    std::optional<ProfileFit> next;
    for (std::size_t i = 0; i < from.size(); ++i) {
      std::vector<double> start = from;
      start[i] -= kSplitPx;
      start.insert(start.begin() + static_cast<std::ptrdiff_t>(i) + 1, from[i] + kSplitPx);
      ProfileFit fit = fit_steps(part, std::move(start), blur_px, clip);
      if (usable(fit, low, high) && (!next || fit.misfit < next->misfit)) next = std::move(fit);
    }
    if (next && (!best || next->misfit < kClearlyBetter * best->misfit)) {
      best = std::move(next);
      better = true;
    }
  }
  return best;
}

struct Straight {
  double at, slope;
};

/// Weighted line through a few places, whose slope is known beforehand to what stock and camera
/// allow: flats are planes, and borders that share a stretch run alike.
Straight straight(const std::vector<Eigen::Vector3d>& x_y_weight, double usual_slope) {
  constexpr double kSlopeU = 0.0004;
  Eigen::Matrix2d normal = Eigen::Vector2d(0.0, 1.0 / (kSlopeU * kSlopeU)).asDiagonal();
  Eigen::Vector2d right(0.0, usual_slope / (kSlopeU * kSlopeU));
  for (const Eigen::Vector3d& p : x_y_weight) {
    const Eigen::Vector2d row(1.0, p.x());
    normal += p.z() * row * row.transpose();
    right += p.z() * p.y() * row;
  }
  const Eigen::Vector2d line = normal.ldlt().solve(right);
  return {line.x(), line.y()};
}

struct Cluster {
  std::vector<double> out_mm;
  double slope = 0.0;
};

/// Peaks of one side, from inside outward, gathered into clusters.
std::vector<Cluster> clusters_of(const std::vector<LongBorder>& borders, const RimSearch& search,
                                 double middle_s_mm, int side, double px_per_mm) {
  struct Peak {
    double out_mm, slope, gradient;
  };
  std::vector<Peak> peaks;
  for (const LongBorder& b : borders) {
    const double out = side * (b.line.t_mm(middle_s_mm) - search.middle.t_mm(middle_s_mm));
    if (out > search.keep_out_mm) peaks.push_back({out, b.line.slope, std::abs(b.gradient)});
  }
  std::sort(peaks.begin(), peaks.end(),
            [](const Peak& a, const Peak& b) { return a.out_mm < b.out_mm; });
  std::vector<Cluster> clusters;
  double last = -1e9, strongest = 0.0;
  for (std::size_t i = 0; i < peaks.size(); ++i) {
    double beside = 0.0;
    for (const Peak& other : peaks) {
      if (std::abs(other.out_mm - peaks[i].out_mm) * px_per_mm < 6.0)
        beside = std::max(beside, other.gradient);
    }
    if (peaks[i].gradient < kHaloShare * beside) continue;
    if ((peaks[i].out_mm - last) * px_per_mm > kClusterPx) {
      clusters.push_back({});
      strongest = 0.0;
    }
    last = peaks[i].out_mm;
    clusters.back().out_mm.push_back(last);
    if (peaks[i].gradient > strongest) {
      strongest = peaks[i].gradient;
      clusters.back().slope = peaks[i].slope;
    }
  }
  return clusters;
}

/// The steps of one side in order outward, each the median over bands along the stretch.
std::vector<Step> steps_of(const LaneImage& image, const StripFrame& frame, double px_per_mm,
                           const RimSearch& search, const std::vector<Cluster>& clusters,
                           int side) {
  constexpr double kMostBandMm = 20.0;
  const double length = search.s_end_mm - search.s_begin_mm;
  const int bands = std::clamp(static_cast<int>(std::lround(length / kMostBandMm)), 1, 5);
  const double half = std::min(0.5 * kMostBandMm, 0.5 * length / bands);
  const double centre = 0.5 * (search.s_begin_mm + search.s_end_mm);
  std::vector<Step> steps;
  for (const Cluster& cluster : clusters) {
    const double first_mm = cluster.out_mm.front(), last_mm = cluster.out_mm.back();
    std::vector<double> peaks_px;
    for (const double out : cluster.out_mm) peaks_px.push_back((out - first_mm) * px_per_mm);
    std::vector<ProfileFit> fits;
    std::vector<double> at_s;
    for (int b = 0; b < bands; ++b) {
      const double s = search.s_begin_mm + (b + 0.5) * length / bands;
      const double t = search.middle.t_mm(centre) + side * first_mm + cluster.slope * (s - centre);
      const double in_mm = 6.0 / px_per_mm, out_mm = last_mm - first_mm + 6.0 / px_per_mm;
      const Band band{.s_mm = s,
                      .t_mid_mm = t,
                      .slope = cluster.slope,
                      .half_length_mm = half,
                      .t_low_mm = side > 0 ? -in_mm : -out_mm,
                      .t_high_mm = side > 0 ? out_mm : in_mm};
      if (auto fit =
              unravel(outward(band_profile(image, search.light, frame, band, px_per_mm), side),
                      peaks_px, search.blur_px, image.clip)) {
        fits.push_back(std::move(*fit));
        at_s.push_back(s);
      }
    }
    if (fits.empty()) continue;
    // The number of steps that most bands ask for.
    std::array<int, 8> votes{};
    for (const ProfileFit& fit : fits)
      ++votes[std::min<std::size_t>(fit.model.positions_px.size(), 7)];
    const auto count =
        static_cast<std::size_t>(std::max_element(votes.begin(), votes.end()) - votes.begin());
    for (std::size_t i = 0; i < count; ++i) {
      std::vector<double> size;
      std::vector<Eigen::Vector3d> line;  // Distance along, out, weight.
      for (std::size_t k = 0; k < fits.size(); ++k) {
        if (fits[k].model.positions_px.size() != count) continue;
        const double out =
            fits[k].model.positions_px[i] / px_per_mm + side * cluster.slope * (at_s[k] - centre);
        const double u = std::hypot(fits[k].u_px(static_cast<int>(i)), kShapePx) / px_per_mm;
        line.emplace_back(at_s[k] - centre, out, 1.0 / (u * u));
        size.push_back(fits[k].model.parts[i].amplitude);
      }
      if (size.empty()) continue;
      const auto [at, slope] = straight(line, side * cluster.slope);
      if (first_mm + at > search.keep_out_mm)
        steps.push_back({first_mm + at, side * slope, median(size), std::abs(median(size))});
    }
  }
  return steps;
}

/// On a face with broken corners a glint, a step up and a larger one down or the reverse, is the
/// corner itself: the flat begins where it ends. On the side where the camera stands the flat's own
/// face may show as such a strip instead: then the rim is where it begins, and both are kept.
/// @param aslant  How far the camera stands beyond the rim, over its height: above 0, it sees the
/// flat.
std::vector<Step> with_corners(const std::vector<Step>& steps, double aslant, double px_per_mm,
                               double blur_px) {
  constexpr double kHalfWidthMm = 0.015;  // Corners are 0.02-0.05 mm: common practice, no source.
  // As two blurred steps show a corner: however narrow, they stand as far apart as they are soft.
  const double widest_mm = kWidestCornerMm + 2.0 * blur_px / px_per_mm;
  std::vector<Step> out;
  for (std::size_t i = 0; i < steps.size(); ++i) {
    const double apart = i + 1 < steps.size() ? steps[i + 1].out_mm - steps[i].out_mm : widest_mm;
    if (apart >= widest_mm || steps[i].step * steps[i + 1].step >= 0.0) {
      out.push_back(steps[i]);
      continue;
    }
    if (apart > kLeastSeenMm * aslant && apart < kMostSeenMm * aslant) {
      out.push_back(steps[i]);
      out.back().log_prior = kStripInstead;
    }
    Step rim = steps[i + 1];
    rim.out_mm = 0.5 * (steps[i].out_mm + steps[i + 1].out_mm) + kHalfWidthMm;
    rim.step = steps[i].step + steps[i + 1].step;
    rim.strength = std::max(steps[i].strength, steps[i + 1].strength);
    out.push_back(rim);
    ++i;
  }
  return out;
}

/// Where the camera sees the flat below its rim as a strip of a pixel or two, of any brightness
/// between the facet's and the jaw's, one border somewhere in it passes for the rim.
/// @param aslant  How far the camera stands beyond the rim, over its height.
double hidden_strip_px(const std::vector<Step>& steps, std::size_t index, double aslant,
                       double px_per_mm) {
  constexpr double kToldApartPx = 2.0;
  if (aslant <= 0.0) return 0.0;
  const auto is_lower_end = [&](const Step& step) {
    const double below = step.out_mm - steps[index].out_mm;
    return below > kLeastSeenMm * aslant && below < kMostSeenMm * aslant;
  };
  const bool lower_end_seen =
      index < steps.size() && std::any_of(steps.begin() + static_cast<std::ptrdiff_t>(index) + 1,
                                          steps.end(), is_lower_end);
  return lower_end_seen ? 0.0 : std::min(kMostSeenMm * aslant * px_per_mm, kToldApartPx);
}

Rim rim_of(const std::vector<Step>& steps, std::size_t index, const StripFrame& frame,
           const RimSearch& search, double px_per_mm, int side) {
  const double centre = 0.5 * (search.s_begin_mm + search.s_end_mm);
  const Step& own = steps[index];
  Rim rim;
  rim.line = {search.middle.t_mm(centre) + side * own.out_mm - own.slope * centre, own.slope};
  rim.step = own.step;
  rim.hidden_strip_px =
      hidden_strip_px(steps, index, aslant_at(frame, rim.line.t_mm(centre), side), px_per_mm);
  for (std::size_t i = 0; i < steps.size(); ++i) {
    const double off = steps[i].out_mm - own.out_mm;
    if (i == index || std::abs(off) * px_per_mm > kReachPx) continue;
    const double share = std::abs(steps[i].step / own.step);
    if (share < kHaloShare) continue;
    rim.beside_mm.push_back(off);
    if (std::abs(off) * px_per_mm < kPullsPx) rim.beside_share += share;
  }
  return rim;
}

/// Log of how likely it is that the borders farther in were not the rim.
double skipping(const std::vector<Step>& steps, std::size_t index) {
  constexpr double kCost = 6.0;
  constexpr double kAsStrong = 0.25;
  double cost = 0.0;
  for (std::size_t i = 0; i < index; ++i) {
    if (steps[i].log_prior < 0.0) continue;
    const double share = std::abs(steps[i].step / steps[index].step);
    cost += kCost * std::clamp((share - kHaloShare) / (kAsStrong - kHaloShare), 0.0, 1.0);
  }
  return -cost;
}

/// Flats are parallel, and so are their rims.
double parallelism(const Step& low, const Step& high, double length_mm, double px_per_mm) {
  constexpr double kStockAndLean = 0.0006;  // Of slope: stock, and an edge one degree aslant.
  constexpr double kEndsPx = 0.3, kMost = 12.0;
  const double off =
      (high.slope - low.slope) / std::hypot(kStockAndLean, kEndsPx / px_per_mm / length_mm);
  return -std::min(0.5 * off * off, kMost);
}

/// Rims are seldom the weakest border in sight.
double weakness(const std::vector<Step>& steps, std::size_t index) {
  constexpr double kPerLog = 1.5;
  double strongest = 0.0;
  for (const Step& s : steps) strongest = std::max(strongest, s.strength);
  return kPerLog * std::log(steps[index].strength / strongest);
}

/// Dye ends at the rim, or where its corner is broken; here and there it ends short of it, or runs
/// down the flat.
double by_dye(const Step& step, double dye_mm, double px_per_mm) {
  constexpr double kCornerMm = 0.5 * kWidestCornerMm, kMost = 8.0;
  const double off =
      (step.out_mm - dye_mm - 0.5 * kCornerMm) / std::hypot(kChromaPx / px_per_mm, kCornerMm);
  return -std::min(0.5 * off * off, kMost);
}

}  // namespace

double aslant_at(const StripFrame& frame, double t_mm, int side) {
  const Eigen::Vector3d camera = frame.camera_mm();
  return side * (camera.y() - t_mm) / (camera.z() - frame.reference_height_mm());
}

std::optional<RimPair> rims_by_dye(const StripFrame& frame, double px_per_mm,
                                   const RimSearch& search) {
  constexpr double kMostOff = 2.5;   // Standard uncertainties of the width.
  constexpr double kMiddleMm = 0.2;  // Of a dyed face against the rough middle.
  constexpr double kUnseen = -6.0;   // Log score, as one border passed over.
  if (!search.dye || search.width_usual_u_mm <= 0.0) return std::nullopt;
  const double off = (search.dye->high_mm + search.dye->low_mm - search.width_usual_mm) /
                     std::hypot(search.width_usual_u_mm, kChromaPx / px_per_mm);
  if (std::abs(off) > kMostOff) return std::nullopt;
  // Elsewhere than about the middle of its dye what was followed may be no lines.
  if (std::abs(search.dye->high_mm - search.dye->low_mm) > 2.0 * kMiddleMm) return std::nullopt;
  const double centre = 0.5 * (search.s_begin_mm + search.s_end_mm);
  const auto rim = [&](int side, double dye_mm) {
    const double aslant = aslant_at(frame, search.middle.t_mm(centre) + side * dye_mm, side);
    Rim out;
    out.line = {search.middle.at_zero_mm + side * dye_mm, search.middle.slope};
    out.hidden_strip_px = hidden_strip_px({}, 0, aslant, px_per_mm);
    return out;
  };
  RimPair pair{rim(+1, search.dye->high_mm), rim(-1, search.dye->low_mm), search.s_begin_mm,
               search.s_end_mm, kUnseen - 0.5 * off * off};
  if (search.mid && !search.mid->holds(centre, pair.mid_mm(centre))) return std::nullopt;
  return pair;
}

std::vector<RimPair> find_rims(const LaneImage& image, const CoarseStrip& fine,
                               const StripFrame& frame, double px_per_mm, const RimSearch& search) {
  const double reach = 0.5 * search.width_high_mm + 0.15 * search.width_usual_mm + 0.5;
  const std::vector<LongBorder> borders = long_borders(fine, px_per_mm,
                                                       {.s_begin_mm = search.s_begin_mm,
                                                        .s_end_mm = search.s_end_mm,
                                                        .about = search.middle,
                                                        .t_low_mm = -reach,
                                                        .t_high_mm = reach});
  const double centre = 0.5 * (search.s_begin_mm + search.s_end_mm);
  std::array<std::vector<Step>, 2> steps;
  for (const int side : {-1, +1}) {
    steps[side > 0] = steps_of(image, frame, px_per_mm, search,
                               clusters_of(borders, search, centre, side, px_per_mm), side);
  }
  if (search.broken_corners) {
    for (const int side : {-1, +1}) {
      const double rim_mm = search.middle.t_mm(centre) + side * 0.5 * search.width_usual_mm;
      steps[side > 0] =
          with_corners(steps[side > 0], aslant_at(frame, rim_mm, side), px_per_mm, search.blur_px);
    }
  }
  const auto& [low, high] = steps;
  const double length = search.s_end_mm - search.s_begin_mm;
  std::vector<RimPair> pairs;
  for (std::size_t i = 0; i < low.size(); ++i) {
    for (std::size_t k = 0; k < high.size(); ++k) {
      const double width = low[i].out_mm + high[k].out_mm;
      if (width < search.width_low_mm || width > search.width_high_mm) continue;
      const double mid = search.middle.t_mm(centre) + 0.5 * (high[k].out_mm - low[i].out_mm);
      if (search.mid && !search.mid->holds(centre, mid)) continue;
      double score = skipping(low, i) + skipping(high, k) + low[i].log_prior + high[k].log_prior +
                     weakness(low, i) + weakness(high, k) +
                     parallelism(low[i], high[k], length, px_per_mm);
      if (search.dye) {
        score += by_dye(low[i], search.dye->low_mm, px_per_mm) +
                 by_dye(high[k], search.dye->high_mm, px_per_mm);
      }
      if (search.width_usual_u_mm > 0.0) {
        const double off =
            (width - search.width_usual_mm) / std::hypot(search.width_usual_u_mm, 0.5 / px_per_mm);
        score -= 0.5 * off * off;
      }
      pairs.push_back({rim_of(high, k, frame, search, px_per_mm, +1),
                       rim_of(low, i, frame, search, px_per_mm, -1), search.s_begin_mm,
                       search.s_end_mm, score});
    }
  }
  std::sort(pairs.begin(), pairs.end(),
            [](const RimPair& a, const RimPair& b) { return a.log_score > b.log_score; });
  return pairs;
}

}  // namespace evenbevel::edge
