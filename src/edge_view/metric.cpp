#include "metric.hpp"

#include <algorithm>
#include <cmath>
#include <memory>

#include "border/light_bias.hpp"
#include "border/pair_curves.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/units.hpp"
#include "uncertainty/neighbours.hpp"

namespace evenbevel::edge {
namespace {

constexpr double kCarriedHeightMm = 0.3;  // Edge height beyond the ricasso, per 100 mm.
constexpr double kStockBowMm = 0.02;      // Stock out of flat, per (100 mm)^2.
constexpr double kLeastU = 1e-9;

double square(double x) { return x * x; }

struct Curve {
  SmoothCurve curve;
  double scatter_mm = 0.0;
  double alike = 1.0;  ///< Factor on u: neighbours that are off together.
};

/// How much less readings say that share their errors with their neighbours: factor on their u.
double alike_factor(const std::vector<double>& residuals) {
  constexpr double kMost = 0.95;
  double own = 0.0, lagged = 0.0;
  for (std::size_t i = 0; i < residuals.size(); ++i) {
    own += residuals[i] * residuals[i];
    if (i > 0) lagged += residuals[i] * residuals[i - 1];
  }
  return std::sqrt(neighbours_inflation(own, lagged, kMost));
}

/// Smooth curve of one reading kind; u from the fits, scaled by the observed scatter.
Curve curve_of(const std::vector<BandReadings>& bands, std::optional<Reading> BandReadings::*which,
               const char* what) {
  std::vector<double> s, t, u;
  double px_per_mm = 1.0;
  for (const BandReadings& band : bands) {
    if (!(band.*which)) continue;
    px_per_mm = band.px_per_mm;
    s.push_back(band.s_mm);
    t.push_back((band.*which)->t_mm);
    u.push_back(std::max((band.*which)->u_mm, 0.01 / px_per_mm));
  }
  if (s.size() < 6) {
    throw Error("the " + std::string(what) + " could be followed at only " +
                    std::to_string(s.size()) + " places, 6 are needed",
                "check --thickness; light the blade from both sides with something large and "
                "white, fill the frame with the card, and take the photo again");
  }
  SmoothCurve curve = smooth_curve(s, t, u, {.shortest_wave = kRimWaveMm});
  std::vector<double> sizes;
  for (std::size_t i = 0; i < s.size(); ++i) {
    if (curve.used()[i]) sizes.push_back(t[i] - curve.at(s[i]).value);
  }
  const double scatter_mm = sizes.empty() ? 0.0 : mad_sigma(sizes, 0.0);
  return {std::move(curve), scatter_mm, alike_factor(sizes)};
}

/// What dye leaves unknown of the middle of the flats: half of what the two channels differ by.
double colour_u_mm(const std::vector<BandReadings>& bands, bool dyed) {
  if (!dyed || bands.empty()) return 0.0;
  std::vector<double> apart;
  for (const BandReadings& band : bands) {
    if (band.colours_apart_mm) apart.push_back(*band.colours_apart_mm);
  }
  if (apart.empty()) return light_bias::edge::kDyeOnly / bands.front().px_per_mm;
  return 0.5 * std::abs(median(apart));
}

PairInformation information_of(const BandReadings& band) {
  PairInformation info;
  info.s_mm = band.s_mm;
  info.at_mm = {band.inner_low->t_mm, band.inner_high->t_mm};
  info.information = band.inner_information;
  info.per_burr = band.inner_per_burr;
  return info;
}

/// Lines or land of all bands as one smooth pair.
PairCurves inner_curves(const std::vector<BandReadings>& bands, Stage stage) {
  constexpr std::size_t kLeastBands = 6;
  std::vector<PairInformation> information;
  for (const BandReadings& band : bands) {
    if (band.inner_high && band.inner_low) information.push_back(information_of(band));
  }
  if (information.size() < kLeastBands) {
    throw Error("the " + std::string(stage == Stage::scribed ? "scribe lines" : "ground edge") +
                    " could be followed at only " + std::to_string(information.size()) +
                    " places, 6 are needed",
                "check --thickness; light the blade from both sides with something large and "
                "white, fill the frame with the card, and take the photo again");
  }
  return fit_pair_curves(information, pair_width(stage));
}

/// Scatter of single readings of (low, high) about their curves.
Eigen::Vector2d scatter_px(const std::vector<BandReadings>& bands, const PairCurves& curves) {
  std::vector<double> low, high;
  for (const BandReadings& band : bands) {
    if (!band.inner_low || !band.inner_high) continue;
    const PairCurves::Place place = curves.at(band.s_mm);
    low.push_back((band.inner_low->t_mm - place.low_mm) * band.px_per_mm);
    high.push_back((band.inner_high->t_mm - place.high_mm) * band.px_per_mm);
  }
  return {mad_sigma(low, 0.0), mad_sigma(high, 0.0)};
}

/// Whether a station's middle is borne out: one border at least stands out of the noise about it,
/// and the model has not had to carry the other one far.
bool middle_is_seen(const BandReadings& band, const PairCurves::Place& place) {
  constexpr double kLeastSigmas = 5.0;
  constexpr double kMostU = 0.015, kMostBurrU = 0.045;  // mm
  constexpr double kLeastWidthPx =
      1.0;  // Borders nearer than this, or the wrong way round, are none.
  return band.inner_sigmas.maxCoeff() > kLeastSigmas && place.u_middle_mm < kMostU &&
         place.u_burr_mm < kMostBurrU &&
         (place.high_mm - place.low_mm) * band.px_per_mm > kLeastWidthPx;
}

/// A point across at height z above the card, from where its ray meets the reference plane.
double at_height(double t_mm, double z_mm, const CameraPlace& camera, double reference_mm) {
  return camera.t_mm +
         (t_mm - camera.t_mm) * (camera.height_mm - z_mm) / (camera.height_mm - reference_mm);
}

/// How deep below the edge a facet of this width ends.
double facet_depth(double width_mm, const MetricSettings& settings) {
  if (settings.stage != Stage::ground) return 0.0;
  return std::max(width_mm, 0.0) / std::tan(settings.facet_angle_rad);
}

struct Section {
  double edge_height_mm;
  double flat_high_mm, flat_low_mm;  // In the blade's own scale.
  double land_high_mm, land_low_mm;
  double depth_high_mm, depth_low_mm;
};

/// Blade section from its four borders; the edge height is what makes the flats T apart, unless
/// it is given.
Section section(const Datum::Rims& rims, double inner_high_mm, double inner_low_mm,
                const CameraPlace& camera, const MetricSettings& settings,
                std::optional<double> edge_height_mm) {
  Section out{};
  const double depth = facet_depth(0.45 * settings.thickness_mm, settings);
  out.depth_high_mm = out.depth_low_mm = depth;
  out.edge_height_mm = edge_height_mm.value_or(settings.reference_height_mm);
  const auto place = [&](double t, double z) {
    return at_height(t, z, camera, settings.reference_height_mm);
  };
  for (int round = 0; round < 6; ++round) {
    const double z = out.edge_height_mm;
    out.flat_high_mm = place(rims.high_mm, z - out.depth_high_mm);
    out.flat_low_mm = place(rims.low_mm, z - out.depth_low_mm);
    out.land_high_mm = place(inner_high_mm, z);
    out.land_low_mm = place(inner_low_mm, z);
    out.depth_high_mm = facet_depth(out.flat_high_mm - out.land_high_mm, settings);
    out.depth_low_mm = facet_depth(out.land_low_mm - out.flat_low_mm, settings);
    if (!edge_height_mm) {
      const double excess = out.flat_high_mm - out.flat_low_mm - settings.thickness_mm;
      out.edge_height_mm +=
          excess * (camera.height_mm - settings.reference_height_mm) / (rims.high_mm - rims.low_mm);
    }
  }
  return out;
}

double facets_depth(const Section& s) { return 0.5 * (s.depth_high_mm + s.depth_low_mm); }

/// From the mid-plane, which leans from the flats' rims up to the land.
double offset(const Section& s, double lean_rad) {
  return 0.5 * (s.land_high_mm + s.land_low_mm) - 0.5 * (s.flat_high_mm + s.flat_low_mm) -
         std::tan(lean_rad) * facets_depth(s);
}

/// The edge's height along the blade: a straight line in s, since single readings of it scatter by
/// more than an edge bends.
struct EdgeHeights {
  double found_mm = 0.0;  ///< From the flats' apparent distance.
  double tilt = 0.0, s_mean_mm = 0.0;

  double at(double s_mm, double mean_mm) const { return mean_mm + tilt * (s_mm - s_mean_mm); }
};

EdgeHeights edge_heights(const std::vector<BandReadings>& bands, const Datum& datum,
                         const PairCurves& inner, const CameraPlace& camera,
                         MetricSettings settings) {
  constexpr std::size_t kLeastForTilt = 30;
  constexpr double kMostTilt = 0.06;
  const bool bevelled = settings.stage == Stage::bevelled;
  if (bevelled) settings.stage = Stage::scribed;  // The flats are seen, no facet ends at them.
  std::vector<Eigen::Vector2d> heights;
  for (const BandReadings& band : bands) {
    if (!datum.holds(band.s_mm)) continue;
    const PairCurves::Place place = inner.at(band.s_mm);
    const Section cut =
        section(datum.at(band.s_mm), place.high_mm, place.low_mm, camera, settings, std::nullopt);
    heights.emplace_back(band.s_mm, cut.edge_height_mm);
  }
  EdgeHeights out;
  std::vector<double> values;
  values.reserve(heights.size());
  for (const Eigen::Vector2d& h : heights) values.push_back(h.y());
  out.found_mm = median(values);
  for (const Eigen::Vector2d& h : heights)
    out.s_mean_mm += h.x() / static_cast<double>(heights.size());
  if (heights.size() < kLeastForTilt || bevelled) return out;
  const LineFit line = fit_line_robust(heights);
  if (std::abs(line.direction_rad) < kMostTilt) out.tilt = std::tan(line.direction_rad);
  return out;
}

/// One station as it is cut, with what its numbers and their budgets are made of.
struct Cut {
  const BandReadings& band;
  PairCurves::Place place;
  Datum::Rims rims;
  Section section;
  double edge_mm;  ///< Height of the edge there.
  double offset_mm;
  double depth_mm;  ///< Of the facets' ends below the edge.
  double u_depth_mm;
  double lateral_mm;   ///< Of the camera, off the flats' middle.
  double distance_mm;  ///< Of the camera, from the reference plane.
};

/// How well the depth of what carries the datum is known.
double u_depth(double depth_mm, double beyond_mm, const MetricSettings& settings) {
  constexpr double kScribedU = 0.02;  // mm: a broken corner's depth.
  if (settings.stage == Stage::bevelled) return kCarriedHeightMm * beyond_mm / 100.0;
  if (settings.stage == Stage::scribed) return kScribedU;
  // d/da of w / tan a, two facets of independent angle.
  return depth_mm * std::tan(settings.facet_angle_rad) /
         square(std::sin(settings.facet_angle_rad)) * kFacetAngleU / std::sqrt(2.0);
}

Cut cut_at(const BandReadings& band, const PairCurves::Place& place, const Datum& datum,
           double edge_mm, const CameraPlace& camera, const MetricSettings& settings) {
  const Datum::Rims rims = datum.at(band.s_mm);
  const Section s = section(rims, place.high_mm, place.low_mm, camera, settings, edge_mm);
  const double depth_mm = facets_depth(s);
  const double beyond_mm =
      std::max({datum.s_begin_mm - band.s_mm, band.s_mm - datum.s_end_mm, 0.0});
  return {.band = band,
          .place = place,
          .rims = rims,
          .section = s,
          .edge_mm = edge_mm,
          .offset_mm = offset(s, settings.lean_rad),
          .depth_mm = depth_mm,
          .u_depth_mm = u_depth(depth_mm, beyond_mm, settings),
          .lateral_mm = std::abs(camera.t_mm - 0.5 * (s.flat_high_mm + s.flat_low_mm)),
          .distance_mm = camera.height_mm - settings.reference_height_mm};
}

/// What light, tone curve and colour do to the borders' middle.
double u_light_mm(const BandReadings& band, const MetricSettings& settings, double u_colour_mm) {
  const double rim_px =
      settings.stage == Stage::bevelled ? light_bias::edge::kCarriedRim : light_bias::edge::kRim;
  const double soft = std::max(1.0, square(settings.blur_px / light_bias::edge::kSharpBlur));
  const double bias_px = std::hypot(
      soft * std::hypot(rim_px, light_bias::edge::kClipped * square(band.clipped_share)) /
          std::sqrt(2.0),
      soft * light_bias::edge::kInner, light_bias::edge::kModel * band.inner_residual);
  const double u_clipped = 0.5 * light_bias::edge::kPastRangeBlurs * settings.blur_px /
                           band.px_per_mm * band.inner_past_range.norm();
  return std::hypot(std::hypot(bias_px / band.px_per_mm, u_clipped), u_colour_mm,
                    settings.groove_u_mm);
}

std::vector<BudgetLine> offset_budget(const Cut& cut, const CameraPlace& camera,
                                      const MetricSettings& settings, double u_light,
                                      double u_width_mm) {
  constexpr double kLeastDepth = 0.02, kLeastLever = 0.05;  // mm: a rim is never quite the edge.
  const double u_depth_seen = cut.u_depth_mm * cut.lateral_mm / cut.distance_mm;
  const double u_parallax =
      std::hypot(cut.u_depth_mm, cut.depth_mm + kLeastDepth) * camera.u_t_mm / cut.distance_mm;
  const double u_square =
      (cut.depth_mm + kLeastLever) * settings.jaw_squareness_u_rad +
      (settings.stage == Stage::bevelled ? settings.jaw_squareness_u_rad * cut.u_depth_mm : 0.0);
  const double u_scale =
      std::abs(cut.offset_mm) *
      (settings.thickness_u_mm / settings.thickness_mm + u_width_mm / settings.thickness_mm);
  return {{.cause = kEdgeLocation,
           .u = std::max(cut.place.u_middle_mm, kLeastU),
           .shared_mm = kBorderSharedMm},
          {.cause = kFlatsLocation,
           .u = std::max(cut.rims.u_mid_mm, kLeastU),
           .shared_mm = cut.rims.shared_mm},
          {kCarried, cut.rims.u_carried_mm},
          {kBurr, cut.place.u_burr_mm},
          {kLight, u_light},
          {kCorners, settings.stage == Stage::ground ? 0.0 : settings.corner_u_mm},
          {kWhichBorder, settings.flats.which_u_mm},
          {kStrip, settings.flats.strip_u_mm},
          {kDepth, u_depth_seen},
          {kParallax, u_parallax},
          {kSquareness, u_square},
          {kScale, u_scale}};
}

void add_widths(EdgeStation& station, const Cut& cut, const CameraPlace& camera,
                const MetricSettings& settings) {
  const BandReadings& band = cut.band;
  const Section& s = cut.section;
  // A faint border is off the same way for long: what bands leave unknown of a width stays whole.
  const auto with_noise = [&](double u_light_mm) -> std::vector<BudgetLine> {
    return {{kLight, u_light_mm}, {kEdgeLocation, cut.place.u_width_mm}};
  };
  const std::vector<BudgetLine> borders =
      with_noise((light_bias::edge::kWidth + light_bias::edge::kClippedWidth * band.clipped_share) /
                 band.px_per_mm);
  const double gap = s.land_high_mm - s.land_low_mm;
  if (settings.stage == Stage::scribed) {
    // Both lines look alike: what shifts one shifts the other the same way.
    station.line_gap_mm = combine(gap, with_noise(light_bias::edge::kGap / band.px_per_mm));
  } else {
    station.land_width_mm = combine(gap, borders);
  }
  if (settings.stage != Stage::ground) return;
  std::vector<BudgetLine> facet = borders;
  facet.push_back({kDepth, 0.5 * cut.u_depth_mm * cut.lateral_mm / cut.distance_mm});
  facet.push_back({kParallax, cut.depth_mm * camera.u_t_mm / cut.distance_mm});
  station.facet_width_left_mm = combine(s.flat_high_mm - s.land_high_mm, facet);
  station.facet_width_right_mm = combine(s.land_low_mm - s.flat_low_mm, facet);
}

}  // namespace

Datum follow_rims(const std::vector<BandReadings>& bands) {
  const auto high = std::make_shared<Curve>(curve_of(bands, &BandReadings::flat_high, "flats"));
  const auto low = std::make_shared<Curve>(curve_of(bands, &BandReadings::flat_low, "flats"));
  Datum datum;
  datum.at = [high, low](double s) -> Datum::Rims {
    const SmoothCurve::Reading h = high->curve.at(s), l = low->curve.at(s);
    return {.high_mm = h.value,
            .low_mm = l.value,
            .u_mid_mm = 0.5 * std::hypot(high->alike * h.u, low->alike * l.u),
            .shared_mm = kRimSharedMm};
  };
  bool first = true;
  double px_per_mm = 1.0;
  for (const BandReadings& band : bands) {
    if (!band.flat_high || !band.flat_low) continue;
    if (first) datum.s_begin_mm = band.s_mm;
    first = false;
    datum.s_end_mm = band.s_mm;
    px_per_mm = band.px_per_mm;
  }
  datum.scatter_px = std::hypot(high->scatter_mm, low->scatter_mm) / std::sqrt(2.0) * px_per_mm;
  return datum;
}

Datum extend_rims(const std::vector<BandReadings>& bands) {
  std::vector<Eigen::Vector2d> high, low;
  double px_per_mm = 1.0;
  for (const BandReadings& band : bands) {
    if (!band.flat_high || !band.flat_low) continue;
    high.emplace_back(band.s_mm, band.flat_high->t_mm);
    low.emplace_back(band.s_mm, band.flat_low->t_mm);
    px_per_mm = band.px_per_mm;
  }
  if (high.size() < 6) {
    throw Error("the flats could be followed at only " + std::to_string(high.size()) +
                    " places before the plunge lines, 6 are needed",
                "check --thickness, and let at least " + length_words(10.0, 0) +
                    " of the unground ricasso stand in the "
                    "slot and in the picture");
  }
  const LineFit high_line = fit_line_robust(high), low_line = fit_line_robust(low);
  Datum datum;
  datum.s_begin_mm = high.front().x();
  datum.s_end_mm = high.back().x();
  datum.scatter_px = std::hypot(high_line.sigma, low_line.sigma) / std::sqrt(2.0) * px_per_mm;
  const double begin = datum.s_begin_mm, end = datum.s_end_mm;
  const double length = std::max(end - begin, 1.0);
  // Flats are parallel: rims that are not turn their middle by half of what parts them.
  const double u_slope =
      0.5 * std::abs(std::tan(high_line.direction_rad) - std::tan(low_line.direction_rad));
  datum.at = [high_line, low_line, begin, end, length, px_per_mm,
              u_slope](double s) -> Datum::Rims {
    const auto at = [s](const LineFit& line) {
      const Eigen::Vector2d d = line.direction();
      return Eigen::Vector2d(line.centre + d * (s - line.centre.x()) / d.x());
    };
    const Eigen::Vector2d h = at(high_line), l = at(low_line);
    const double beyond = std::max({begin - s, s - end, 0.0}) / 100.0;
    const double u_lines = 0.5 * std::hypot(high_line.u_at(h), low_line.u_at(l));
    const double u_tilt =
        std::hypot(light_bias::edge::kRimTilt / px_per_mm * std::sqrt(12.0) / length, u_slope);
    return {.high_mm = h.y(),
            .low_mm = l.y(),
            .u_mid_mm = u_lines,
            .u_carried_mm = std::hypot(kStockBowMm * beyond * beyond, u_tilt * 100.0 * beyond)};
  };
  return datum;
}

Metric to_blade(const std::vector<BandReadings>& bands, const Datum& datum,
                const CameraPlace& camera, const MetricSettings& settings) {
  const PairCurves inner = inner_curves(bands, settings.stage);
  const double distance_mm = camera.height_mm - settings.reference_height_mm;
  const double u_width_mm = light_bias::edge::kWidth / bands[bands.size() / 2].px_per_mm;
  const double u_colour_mm = colour_u_mm(bands, settings.dyed);
  const EdgeHeights heights = edge_heights(bands, datum, inner, camera, settings);
  Metric out;
  out.inner_scatter_px = scatter_px(bands, inner);
  out.flats_width_u_mm = u_width_mm;
  out.found_height_mm = heights.found_mm;
  out.found_height_u_mm =
      distance_mm / settings.thickness_mm * std::hypot(u_width_mm, settings.thickness_u_mm);
  out.edge_height_mm = settings.edge_height_mm.value_or(heights.found_mm);
  out.edge_height_u_mm = settings.edge_height_mm ? kRulerHeightU : out.found_height_u_mm;
  for (const BandReadings& band : bands) {
    EdgeStation& station = out.stations.emplace_back();
    station.x_mm = band.s_mm;
    station.residual_px = band.inner_residual;
    const PairCurves::Place place = inner.at(band.s_mm);
    out.middle_t_mm.push_back(0.5 * (place.high_mm + place.low_mm));
    const bool seen = band.inner_high && band.inner_low &&
                      (settings.stage == Stage::bevelled || datum.holds(band.s_mm));
    if (!seen || !middle_is_seen(band, place)) continue;
    const Cut cut =
        cut_at(band, place, datum, heights.at(band.s_mm, out.edge_height_mm), camera, settings);
    station.centreline_offset_mm = combine(
        cut.offset_mm,
        offset_budget(cut, camera, settings, u_light_mm(band, settings, u_colour_mm), u_width_mm));
    add_widths(station, cut, camera, settings);
    if (!datum.holds(band.s_mm)) continue;
    const double apparent = (cut.rims.high_mm - cut.rims.low_mm) *
                            (camera.height_mm - (cut.edge_mm - cut.depth_mm)) / distance_mm;
    station.thickness_mm = combine(apparent, {{kLight, u_width_mm}});
  }
  out.mean_offset_mm = mean_offset(out.stations);
  return out;
}

}  // namespace evenbevel::edge
