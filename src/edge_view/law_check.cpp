#include "law_check.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <string_view>

#include "evenbevel/error.hpp"
#include "summary.hpp"

namespace evenbevel::edge {
namespace {

constexpr double kWanderMm = 8.0;  // Between the knots of how a curve strays, beyond its readings.

struct Checked {
  const char* quantity;
  std::optional<Measured> EdgeResult::*member;
};
constexpr std::array kChecked = {
    Checked{"centreline_offset", &EdgeResult::centreline_offset_mm},
    Checked{"centreline_offset_worst", &EdgeResult::centreline_offset_worst_mm},
    Checked{"symmetry", &EdgeResult::symmetry_mm}, Checked{"line_gap", &EdgeResult::line_gap_mm},
    Checked{"land_width", &EdgeResult::land_width_mm}};

constexpr std::array kBorders = {&BandReadings::flat_high, &BandReadings::flat_low,
                                 &BandReadings::inner_high, &BandReadings::inner_low};

/// Causes that shift the whole edge against the flats, by each station's budget. Depth and camera
/// place are drawn themselves where there are facets.
std::vector<std::string_view> shared_causes(Stage stage) {
  std::vector<std::string_view> causes = {kCarried,     kBurr,  kLight,     kCorners,
                                          kWhichBorder, kStrip, kSquareness};
  if (stage != Stage::ground) causes.insert(causes.end(), {kDepth, kParallax});
  return causes;
}

double u_of(const EdgeStation& station, std::string_view cause) {
  if (!station.centreline_offset_mm) return 0.0;
  for (const BudgetLine& line : station.centreline_offset_mm->budget) {
    if (line.cause == cause) return line.u;
  }
  return 0.0;
}

/// Scatter of one border's readings about their smooth curve, over their own u; at least 1.
double scale_of(const std::vector<BandReadings>& bands,
                std::optional<Reading> BandReadings::*border) {
  std::vector<double> s, t, u;
  for (const BandReadings& band : bands) {
    if (!(band.*border)) continue;
    s.push_back(band.s_mm);
    t.push_back((band.*border)->t_mm);
    u.push_back(std::max((band.*border)->u_mm, 0.01 / band.px_per_mm));
  }
  if (s.size() < 6) return 1.0;
  return std::max(1.0, smooth_curve(s, t, u, {.shortest_wave = kWanderMm}).scale());
}

/// The inputs in standard units, in this order, and what each of them does.
class Trial {
 public:
  Trial(const Chain& chain, const Metric& law)
      : chain_(chain), law_(law), causes_(shared_causes(chain.settings.stage)) {
    for (std::size_t b = 0; b < kBorders.size(); ++b) {
      scales_[b] = scale_of(chain.bands, kBorders[b]);
    }
    first_s_ = chain.bands.front().s_mm;
    const double length = chain.bands.back().s_mm - first_s_;
    knots_ = static_cast<Eigen::Index>(std::ceil(length / kWanderMm)) + 2;
  }

  Eigen::Index inputs() const {
    return readings() + static_cast<Eigen::Index>(kBorders.size() * chain_.bands.size());
  }

  EdgeResult measure(const Eigen::VectorXd& z) const {
    MetricSettings settings = chain_.settings;
    CameraPlace camera = chain_.camera;
    camera.t_mm += camera.u_t_mm * z(kCameraT);
    camera.height_mm += camera.u_height_mm * z(kCameraHeight);
    settings.thickness_mm += settings.thickness_u_mm * z(kThickness);
    settings.facet_angle_rad += kFacetAngleU / std::sqrt(2.0) * z(kFacetAngle);
    if (settings.edge_height_mm) {
      settings.edge_height_mm = *settings.edge_height_mm + kRulerHeightU * z(kEdgeHeight);
    }
    const std::vector<BandReadings> bands = drawn_bands(z);
    const Metric metric = to_blade(bands, datum_of(bands, settings.stage), camera, settings);
    EdgeResult result;
    result.stage = settings.stage;
    result.stations = metric.stations;
    summarise(result, metric.mean_offset_mm);
    return result;
  }

 private:
  enum Single : Eigen::Index {
    kCameraT,
    kCameraHeight,
    kThickness,
    kFacetAngle,
    kEdgeHeight,
    kFlatsWidth,
    kInnerWidth,
    kShared
  };
  Eigen::Index wander() const { return kShared + static_cast<Eigen::Index>(causes_.size()); }
  Eigen::Index readings() const { return wander() + knots_; }

  double wander_at(const Eigen::VectorXd& z, double s_mm) const {
    const double place = (s_mm - first_s_) / kWanderMm;
    const auto below = static_cast<Eigen::Index>(place);
    const double share = place - static_cast<double>(below);
    return (1.0 - share) * z(wander() + below) + share * z(wander() + below + 1);
  }

  std::vector<BandReadings> drawn_bands(const Eigen::VectorXd& z) const {
    std::vector<BandReadings> bands = chain_.bands;
    for (std::size_t i = 0; i < bands.size(); ++i) {
      BandReadings& band = bands[i];
      const EdgeStation& station = law_.stations[i];
      double middle = 0.0;
      for (std::size_t k = 0; k < causes_.size(); ++k) {
        middle += u_of(station, causes_[k]) * z(kShared + static_cast<Eigen::Index>(k));
      }
      const std::optional<Measured>& width =
          station.land_width_mm ? station.land_width_mm : station.line_gap_mm;
      const double wider = 0.5 * (width ? width->u : 0.0) * z(kInnerWidth);
      const double flats_wider = 0.5 * law_.flats_width_u_mm * z(kFlatsWidth);
      const std::array shifts = {flats_wider, -flats_wider, middle + wider, middle - wider};
      for (std::size_t b = 0; b < kBorders.size(); ++b) {
        std::optional<Reading>& reading = band.*kBorders[b];
        const auto index = static_cast<Eigen::Index>(i * kBorders.size() + b);
        if (reading)
          reading->t_mm += shifts[b] + scales_[b] * reading->u_mm * z(readings() + index);
      }
    }
    return bands;
  }

  const Chain& chain_;
  const Metric& law_;
  std::vector<std::string_view> causes_;
  std::array<double, kBorders.size()> scales_{};
  double first_s_ = 0.0;
  Eigen::Index knots_ = 0;
};

Eigen::VectorXd values_of(const EdgeResult& result) {
  Eigen::VectorXd values(static_cast<Eigen::Index>(kChecked.size()));
  for (std::size_t k = 0; k < kChecked.size(); ++k) {
    const std::optional<Measured>& value = result.*kChecked[k].member;
    values(static_cast<Eigen::Index>(k)) =
        value ? value->value : std::numeric_limits<double>::quiet_NaN();
  }
  return values;
}

}  // namespace

Datum datum_of(const std::vector<BandReadings>& bands, Stage stage) {
  return stage == Stage::bevelled ? extend_rims(bands) : follow_rims(bands);
}

std::vector<QuantityCheck> check_law(const Chain& chain, const Metric& metric,
                                     const EdgeResult& summary,
                                     const MonteCarloSettings& settings) {
  const Trial trial(chain, metric);
  const auto draws = monte_carlo_values(
      [&](const Eigen::VectorXd& z) -> Eigen::VectorXd {
        try {
          return values_of(trial.measure(z));
        } catch (const Error&) {
          return values_of({});
        }
      },
      {std::vector<Distribution>(static_cast<std::size_t>(trial.inputs()),
                                 Distribution::normal(0.0, 1.0))},
      settings);
  std::vector<QuantityCheck> checks;
  for (std::size_t k = 0; k < kChecked.size(); ++k) {
    const std::optional<Measured>& law = summary.*kChecked[k].member;
    if (!law) continue;
    const MonteCarloResult drawn = monte_carlo_result(draws[k], settings.probability);
    checks.push_back({kChecked[k].quantity, *law, drawn,
                      compare(*law, drawn, settings.digits, settings.probability)});
  }
  return checks;
}

}  // namespace evenbevel::edge
