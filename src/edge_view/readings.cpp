#include "readings.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <limits>

#include <Eigen/LU>
#include <opencv2/core/utility.hpp>

#include "border/pair_curves.hpp"
#include "evenbevel/fit.hpp"
#include "inner_fit.hpp"

namespace evenbevel::edge {
namespace {

constexpr double kRimInsidePx = 4.5;  // Window about a rim; outside, jaws and flats come close.
constexpr double kRimOutsidePx = 3.0;
constexpr double kRimStrayPx = 2.5;  // A fit that wanders farther has found something else.
constexpr double kGlintWidthMm =
    0.03;  // Broken corners are 0.02-0.05 mm: common practice, no source.
constexpr double kStartBlurPx = 0.9;

double amplitude(const ProfileModel& model) {
  double largest = 0.0;
  for (const ProfilePart& part : model.parts) {
    if (part.shape == ProfilePart::Shape::slope) continue;
    // A line narrower than the blur shows only a part of its amplitude.
    const double shown = part.shape == ProfilePart::Shape::line
                             ? std::min(1.0, part.width_px / (2.5 * model.blur_px))
                             : 1.0;
    largest = std::max(largest, std::abs(part.amplitude) * shown);
  }
  return largest;
}

/// The smaller of the amplitudes: both borders must be there.
double weaker_amplitude(const ProfileModel& model) {
  double smallest = std::numeric_limits<double>::infinity();
  for (const ProfilePart& part : model.parts)
    smallest = std::min(smallest, std::abs(part.amplitude));
  return smallest;
}

/// side: +1 the rim toward positive t, -1 the other.
ProfileModel rim_model(double start_px, int side, RimLook look,
                       const std::vector<double>& beside_mm, double px_per_mm, double blur_px,
                       double clip) {
  ProfileModel model{.positions_px = {start_px},
                     .parts = {{.shape = ProfilePart::Shape::step}},
                     .blur_px = blur_px,
                     .clip = clip};
  if (look == RimLook::glint) {
    const double width = kGlintWidthMm * px_per_mm;
    model.parts.push_back(
        {.shape = ProfilePart::Shape::line, .offset_px = -0.5 * side * width, .width_px = width});
  }
  for (const double out_mm : beside_mm) {
    model.parts.push_back(
        {.shape = ProfilePart::Shape::step, .offset_px = side * out_mm * px_per_mm});
  }
  return model;
}

/// How sure the expected place of a rim is: near ones are fitted from there, rough ones from
/// several places about it.
enum class Expected { near, rough };

std::optional<ProfileFit> fit_rim(const Samples& samples, double expected_px, int side,
                                  RimLook look, const std::vector<double>& beside_mm,
                                  double px_per_mm, double blur_px, double clip,
                                  Expected expected) {
  constexpr double kBothLevelsPx = 2.0;  // The last border beside must show both of its levels.
  double inside_px = kRimInsidePx, outside_px = kRimOutsidePx;
  for (const double out_mm : beside_mm) {
    inside_px = std::max(inside_px, kBothLevelsPx - out_mm * px_per_mm);
    outside_px = std::max(outside_px, kBothLevelsPx + out_mm * px_per_mm);
  }
  const double low = expected_px - (side > 0 ? inside_px : outside_px);
  const double high = expected_px + (side > 0 ? outside_px : inside_px);
  const Samples part = window(samples, low, high);
  std::optional<ProfileFit> best;
  for (const double start : {0.0, -0.8, 0.8, -1.6, 1.6}) {
    ProfileFit fit = fit_profile(
        part, rim_model(expected_px + start, side, look, beside_mm, px_per_mm, blur_px, clip));
    if (!fit.converged || std::abs(fit.model.positions_px[0] - expected_px) > kRimStrayPx) {
      continue;
    }
    if (!best || fit.misfit < best->misfit) best = std::move(fit);
    if (look == RimLook::plain || expected == Expected::near) break;
  }
  if (!best) return std::nullopt;
  // A border that hardly stands out of its own residuals is not one.
  if (std::abs(best->model.parts.front().amplitude) < 4.0 * best->rms) return std::nullopt;
  return best;
}

/// A band with everything placed relative to the flats' mid-line.
struct OpenBand {
  double s_mm, mid_mm, px_per_mm;
  Samples samples, flats_samples;
  double low_px, high_px;              // Expected rims.
  double inner_low_px, inner_high_px;  // Expected inner pair.
};

OpenBand open_band(const LaneImage& image, const StripFrame& frame, const FlatsPair& flats,
                   const InnerTrace& inner, double s_mm, double step_mm) {
  OpenBand band;
  band.s_mm = s_mm;
  band.mid_mm = flats.mid_mm(s_mm);
  band.px_per_mm = frame.px_per_mm_across(s_mm, band.mid_mm);
  const double half_mm = 0.5 * flats.width_mm(s_mm);
  const double reach_mm = half_mm + 6.0 / band.px_per_mm;
  const Band part{.s_mm = s_mm,
                  .t_mid_mm = band.mid_mm,
                  .slope = 0.5 * (flats.high.slope + flats.low.slope),
                  .half_length_mm = 0.5 * step_mm,
                  .t_low_mm = -reach_mm,
                  .t_high_mm = reach_mm};
  band.samples = band_profile(image, &LaneImage::grey, frame, part, band.px_per_mm);
  band.flats_samples = image.dyed()
                           ? band_profile(image, &LaneImage::flats, frame, part, band.px_per_mm)
                           : band.samples;
  band.low_px = -half_mm * band.px_per_mm;
  band.high_px = half_mm * band.px_per_mm;
  const InnerTrace::Place place = inner.at(s_mm);
  band.inner_low_px = (place.low_mm - band.mid_mm) * band.px_per_mm;
  band.inner_high_px = (place.high_mm - band.mid_mm) * band.px_per_mm;
  return band;
}

std::vector<double> stations(double begin_mm, double end_mm, double step_mm) {
  std::vector<double> s;
  for (int k = 0; begin_mm + (k + 1) * step_mm <= end_mm; ++k) {
    s.push_back(begin_mm + (k + 0.5) * step_mm);
  }
  return s;
}

std::vector<double> a_few_stations(double begin_mm, double end_mm) {
  constexpr int kMost = 30;
  return stations(begin_mm, end_mm, std::max(1.0, (end_mm - begin_mm) / kMost));
}

Reading reading(const OpenBand& band, const ProfileFit& fit, int position) {
  return {band.mid_mm + fit.model.positions_px[static_cast<std::size_t>(position)] / band.px_per_mm,
          fit.u_px(position) / band.px_per_mm};
}

double clipped_share(const OpenBand& band, double clip) {
  double clipped = 0.0, all = 0.0;
  for (const ProfileSample& s : band.samples) {
    if (s.t_px < band.low_px || s.t_px > band.high_px) continue;
    all += s.weight;
    if (s.value >= clip) clipped += s.weight;
  }
  return all > 0.0 ? clipped / all : 0.0;
}

void read_flats(const OpenBand& band, const ReadingPlan& plan, double clip, Expected expected,
                BandReadings& out) {
  if (plan.corners) {
    const auto [high, low] = *plan.corners;
    out.flat_high = Reading{high.line.t_mm(band.s_mm), high.scatter_mm};
    out.flat_low = Reading{low.line.t_mm(band.s_mm), low.scatter_mm};
    return;
  }
  const auto rim = [&](const Samples& samples, int side, RimLook look) -> std::optional<Reading> {
    const double at_px = side > 0 ? band.high_px : band.low_px;
    const auto fit =
        fit_rim(samples, at_px, side, look, side > 0 ? plan.beside_high_mm : plan.beside_low_mm,
                band.px_per_mm, plan.blur_px, clip, expected);
    return fit ? std::optional(reading(band, *fit, 0)) : std::nullopt;
  };
  out.flat_high = rim(band.flats_samples, +1, plan.flats.high);
  out.flat_low = rim(band.flats_samples, -1, plan.flats.low);
  if (!plan.grey) return;
  const auto with_grey = [](std::optional<Reading>& own, const std::optional<Reading>& grey) {
    if (own && grey) {
      own = Reading{0.5 * (own->t_mm + grey->t_mm), std::max(own->u_mm, grey->u_mm)};
    } else {
      own.reset();
    }
  };
  const auto high = rim(band.samples, +1, plan.grey->high);
  const auto low = rim(band.samples, -1, plan.grey->low);
  if (out.flat_high && out.flat_low && high && low) {
    out.colours_apart_mm =
        0.5 * (out.flat_high->t_mm - high->t_mm + out.flat_low->t_mm - low->t_mm);
  }
  with_grey(out.flat_high, high);
  with_grey(out.flat_low, low);
}

BandReadings read_band(const OpenBand& band, const LaneImage& image, const FlatsPair& flats,
                       const ReadingPlan& plan, Expected expected) {
  BandReadings out;
  out.s_mm = band.s_mm;
  out.px_per_mm = band.px_per_mm;
  out.clipped_share = clipped_share(band, image.clip);
  if (band.s_mm >= flats.s_begin_mm && band.s_mm <= flats.s_end_mm) {
    read_flats(band, plan, image.clip, expected, out);
  }
  return out;
}

/// A band about the inner pair, for the joint model of all of them.
PairBand pair_band(const OpenBand& band, const LaneImage& image, const ReadingPlan& plan) {
  const auto about_pair = [&](const Samples& samples) {
    return window(samples, band.inner_low_px - kInnerMarginPx, band.inner_high_px + kInnerMarginPx);
  };
  std::vector<Samples> colours{about_pair(band.samples)};
  // A line is bare steel in dye: it shows in grey, and what dye lies beside it wanders.
  if (image.dyed() && plan.stage != Stage::scribed)
    colours.push_back(about_pair(band.flats_samples));
  return {.s_mm = band.s_mm,
          .px_per_mm = band.px_per_mm,
          .zero_mm = band.mid_mm,
          .colours = std::move(colours),
          .model = inner_model(band.inner_low_px, band.inner_high_px, plan, band.px_per_mm,
                               plan.blur_px, image.clip)};
}

/// A band's own reading, as far as it has one: where it says little, it stays near the others'.
void set_inner(const PairInformation& info, BandReadings& out) {
  constexpr double kNearOthersMm = 0.05;
  const Eigen::Matrix2d all =
      info.information + Eigen::Matrix2d::Identity() / (kNearOthersMm * kNearOthersMm);
  const Eigen::Matrix2d covariance = all.inverse();
  const Eigen::Vector2d at = info.at_mm + covariance * info.gradient;
  out.inner_low = Reading{at[0], std::sqrt(covariance(0, 0))};
  out.inner_high = Reading{at[1], std::sqrt(covariance(1, 1))};
  out.inner_information = info.information;
  out.inner_sigmas = info.contrast_sigmas;
  out.inner_per_burr = info.per_burr;
  out.inner_residual = info.residual;
}

bool clipped(const PairBand& band) {
  constexpr double kMostShare = 0.02;
  double all = 0.0, beyond = 0.0;
  for (const ProfileSample& s : band.colours.front()) {
    all += s.weight;
    if (s.value >= band.model.clip) beyond += s.weight;
  }
  return beyond > kMostShare * all;
}

/// How far past the camera's range the surfaces beyond the low and the high border are, e-folds.
Eigen::Vector2d past_range(const ProfileModel& model) {
  double high = model.background;
  for (const ProfilePart& part : model.parts) {
    if (part.shape == ProfilePart::Shape::step) high += part.amplitude;
  }
  const auto past = [&](double level) { return std::log(std::max(level / model.clip, 1.0)); };
  return {past(model.background), past(high)};
}

/// Where light beyond the camera's range touches the borders, a sample there is only a bound: the
/// band is fitted by itself, with that.
void read_clipped(const PairBand& band, const ReadingPlan& plan, BandReadings& out) {
  constexpr double kClear = 100.0;  // Such a border has no noise to speak of.
  const std::vector<double>& at = band.model.positions_px;
  const auto fit = fit_inner(band.colours.front(), at[0], at[1], plan, band.px_per_mm,
                             held(plan.blur_px), band.model.clip);
  if (!fit || amplitude(fit->model) < 3.0 * fit->rms) return;
  const Eigen::Matrix2d covariance =
      fit->covariance.topLeftCorner<2, 2>() / (band.px_per_mm * band.px_per_mm);
  const auto reading = [&](int border) {
    return Reading{
        band.zero_mm + fit->model.positions_px[static_cast<std::size_t>(border)] / band.px_per_mm,
        fit->u_px(border) / band.px_per_mm};
  };
  out.inner_low = reading(0);
  out.inner_high = reading(1);
  out.inner_information = (covariance + 1e-12 * Eigen::Matrix2d::Identity()).inverse();
  out.inner_sigmas.setConstant(kClear);
  out.inner_past_range = past_range(fit->model);
  out.inner_residual = fit->rms / amplitude(fit->model);
}

/// @param about_pair  Of each band that shows the inner pair.
void read_inner(std::vector<std::optional<PairBand>> about_pair, const InnerTrace& inner,
                const ReadingPlan& plan, std::vector<BandReadings>& bands) {
  std::vector<PairBand> pairs;
  std::vector<Eigen::Vector2d> start;
  std::vector<std::size_t> of_band;
  for (std::size_t i = 0; i < bands.size(); ++i) {
    if (!about_pair[i]) continue;
    pairs.push_back(std::move(*about_pair[i]));
    const InnerTrace::Place place = inner.at(bands[i].s_mm);
    start.emplace_back(place.low_mm, place.high_mm);
    of_band.push_back(i);
  }
  const std::vector<PairInformation> information =
      pair_information(pairs, start, pair_width(plan.stage));
  for (std::size_t k = 0; k < information.size(); ++k) {
    if (clipped(pairs[k])) {
      read_clipped(pairs[k], plan, bands[of_band[k]]);
      continue;
    }
    if (information[k].information.trace() > 0.0) set_inner(information[k], bands[of_band[k]]);
  }
}

}  // namespace

PairWidth pair_width(Stage stage) {
  return stage == Stage::scribed ? PairWidth::parallel : PairWidth::wanders;
}

std::optional<double> typical_blur_px(const LaneImage& image, const StripFrame& frame,
                                      const FlatsPair& flats, const InnerTrace& inner,
                                      const ReadingPlan& plan) {
  std::vector<double> blurs;
  for (const double s : a_few_stations(inner.s_begin_mm(), inner.s_end_mm())) {
    const OpenBand band = open_band(image, frame, flats, inner, s, plan.step_mm);
    const auto fit = fit_inner(band.samples, band.inner_low_px, band.inner_high_px, plan,
                               band.px_per_mm, {kStartBlurPx, 0.2, 20.0}, image.clip);
    if (fit && amplitude(fit->model) > 6.0 * fit->rms) blurs.push_back(fit->model.blur_px);
  }
  if (blurs.empty()) return std::nullopt;
  return median(blurs);
}

void choose_rim_looks(const LaneImage& image, const StripFrame& frame, const FlatsPair& flats,
                      ReadingPlan& plan) {
  constexpr double kMost = 0.7;  // Of the bands must show both rims in grey.
  const InnerTrace nowhere{.places = {{flats.s_begin_mm, 0, 0}}};
  struct Count {
    int high_glints = 0, low_glints = 0, both_seen = 0;
    RimLooks looks(int bands) const {
      const auto majority = [bands](int n) {
        return 2 * n > bands ? RimLook::glint : RimLook::plain;
      };
      return {majority(high_glints), majority(low_glints)};
    }
  };
  Count own, grey;
  const std::vector<double> stations_mm = a_few_stations(flats.s_begin_mm, flats.s_end_mm);
  for (const double s : stations_mm) {
    const OpenBand band = open_band(image, frame, flats, nowhere, s, 2.0 * plan.step_mm);
    const auto add = [&](const Samples& samples, Count& count) {
      const auto fitted = [&](double expected, int side, RimLook look) {
        return fit_rim(samples, expected, side, look,
                       side > 0 ? plan.beside_high_mm : plan.beside_low_mm, band.px_per_mm,
                       plan.blur_px, image.clip, Expected::rough);
      };
      int seen = 0;
      const auto glints = [&](double expected, int side) {
        const auto plain = fitted(expected, side, RimLook::plain);
        const auto glint = fitted(expected, side, RimLook::glint);
        if (plain || glint) ++seen;
        return glint && glint->model.parts[1].amplitude > 0.0 &&
               (!plain || glint->misfit < 0.6 * plain->misfit);
      };
      if (glints(band.high_px, +1)) ++count.high_glints;
      if (glints(band.low_px, -1)) ++count.low_glints;
      if (seen == 2) ++count.both_seen;
    };
    add(band.flats_samples, own);
    if (image.dyed()) add(band.samples, grey);
  }
  const int bands = static_cast<int>(stations_mm.size());
  plan.flats = own.looks(bands);
  plan.grey.reset();
  if (grey.both_seen > kMost * bands) plan.grey = grey.looks(bands);
}

void recentre(const LaneImage& image, const StripFrame& frame, const InnerTrace& inner,
              const ReadingPlan& plan, FlatsPair& flats) {
  std::vector<Eigen::Vector2d> high, low;
  for (const double s : a_few_stations(flats.s_begin_mm, flats.s_end_mm)) {
    const BandReadings band = read_band(open_band(image, frame, flats, inner, s, plan.step_mm),
                                        image, flats, plan, Expected::rough);
    if (band.flat_high) high.emplace_back(s, band.flat_high->t_mm);
    if (band.flat_low) low.emplace_back(s, band.flat_low->t_mm);
  }
  const auto lay = [](const std::vector<Eigen::Vector2d>& points, StripLine& line) {
    if (points.size() < 8) return;
    const LineFit fit = fit_line_robust(points);
    const double slope = std::tan(fit.direction_rad);
    line = {fit.centre.y() - slope * fit.centre.x(), slope};
  };
  lay(high, flats.high);
  lay(low, flats.low);
}

InnerTrace confirmed(const LaneImage& image, const StripFrame& frame, const FlatsPair& flats,
                     const InnerTrace& inner, const ReadingPlan& plan) {
  constexpr double kProbeMm = 1.5, kBridgeMm = 12.0;
  const std::vector<double> s = stations(inner.s_begin_mm(), inner.s_end_mm(), kProbeMm);
  std::vector<double> contrast(s.size(), 0.0);
  cv::parallel_for_(cv::Range(0, static_cast<int>(s.size())), [&](const cv::Range& range) {
    for (int i = range.start; i < range.end; ++i) {
      const auto at = static_cast<std::size_t>(i);
      const OpenBand band = open_band(image, frame, flats, inner, s[at], kProbeMm);
      const auto fit = fit_inner(band.samples, band.inner_low_px, band.inner_high_px, plan,
                                 band.px_per_mm, held(plan.blur_px), image.clip);
      if (fit)
        contrast[at] =
            weaker_amplitude(fit->model) > 4.0 * fit->rms ? weaker_amplitude(fit->model) : 0.0;
    }
  });
  std::vector<double> seen;
  std::copy_if(contrast.begin(), contrast.end(), std::back_inserter(seen),
               [](double c) { return c > 0.0; });
  if (seen.empty()) return {};
  const double least = 0.2 * median(seen);
  // The longest stretch of probes most of which stand out.
  const auto good = [&](std::size_t i) {
    int count = 0, all = 0;
    for (std::size_t j = i < 2 ? 0 : i - 2; j <= i + 2 && j < contrast.size(); ++j) {
      ++all;
      if (contrast[j] > least) ++count;
    }
    return 2 * count > all && contrast[i] > least;
  };
  double begin = 0.0, last = -1e9, best_begin = 0.0, best_end = -1.0;
  for (std::size_t i = 0; i < s.size(); ++i) {
    if (!good(i)) continue;
    if (s[i] - last > kBridgeMm) begin = s[i];
    last = s[i];
    if (last - begin > best_end - best_begin) {
      best_begin = begin;
      best_end = last;
    }
  }
  InnerTrace out = inner;
  std::erase_if(out.places, [&](const InnerTrace::Place& p) {
    return p.s_mm < best_begin - 0.5 * kProbeMm || p.s_mm > best_end + 0.5 * kProbeMm;
  });
  return out;
}

std::vector<BandReadings> read_bands(const LaneImage& image, const StripFrame& frame,
                                     const FlatsPair& flats, const InnerTrace& inner,
                                     const ReadingPlan& plan) {
  const double begin = std::min(flats.s_begin_mm, inner.s_begin_mm());
  const double end = std::max(flats.s_end_mm, inner.s_end_mm());
  const std::vector<double> s = stations(begin, end, plan.step_mm);
  std::vector<BandReadings> bands(s.size());
  std::vector<std::optional<PairBand>> about_pair(s.size());
  cv::parallel_for_(cv::Range(0, static_cast<int>(s.size())), [&](const cv::Range& range) {
    for (int i = range.start; i < range.end; ++i) {
      const auto at = static_cast<std::size_t>(i);
      const OpenBand band = open_band(image, frame, flats, inner, s[at], plan.step_mm);
      bands[at] = read_band(band, image, flats, plan, Expected::near);
      if (s[at] >= inner.s_begin_mm() && s[at] <= inner.s_end_mm())
        about_pair[at] = pair_band(band, image, plan);
    }
  });
  read_inner(std::move(about_pair), inner, plan, bands);
  return bands;
}

double mean_clipped_share(const std::vector<BandReadings>& bands) {
  double sum = 0.0;
  for (const BandReadings& band : bands) sum += band.clipped_share;
  return bands.empty() ? 0.0 : sum / static_cast<double>(bands.size());
}

}  // namespace evenbevel::edge
