#include "corner_rims.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <vector>

#include <Eigen/LU>

#include "evenbevel/fit.hpp"
#include "evenbevel/trace.hpp"
#include "fit/dense.hpp"
#include "fit/descent.hpp"

namespace evenbevel::edge {
namespace {

// Sharp, or broken by 0.02-0.05 mm: common practice, no source.
constexpr std::array<double, 5> kCornerWidthsMm = {0.0, 0.015, 0.025, 0.035, kWidestCornerMm};
constexpr double kLnBlurU = 0.06;  // Print, lens and steel against the card's own borders.
constexpr double kRoughU = 1.0;    // px, of the rim as it was found.
// What a rim does that the model does not have (dye that ends short of it, a ragged corner, light
// that changes across): type B, from 32 rims of 16 random faces with dye under lamps. px
constexpr double kModelPx = 0.15;
constexpr double kBinPx = 0.25;
constexpr double kAlikePx = 0.75;  // Bins nearer than this share their blur, and their faults.
constexpr double kInsidePx = 3.5, kOutsidePx = 3.0, kBeyondPx = 1.6;

/// What one colour shows across the rim, outward.
struct Shown {
  Eigen::VectorXd at_px, light;
  double range = 0.0;
};

Shown shown(const LaneImage& image, Light LaneImage::*light, const StripFrame& frame,
            const Band& band, int side, double px_per_mm) {
  const std::vector<ProfileSample> samples = band_profile(image, light, frame, band, px_per_mm);
  const double low = (side > 0 ? band.t_low_mm : -band.t_high_mm) * px_per_mm;
  const double high = (side > 0 ? band.t_high_mm : -band.t_low_mm) * px_per_mm;
  const auto bins = static_cast<std::size_t>((high - low) / kBinPx);
  std::vector<double> sum(bins, 0.0), place(bins, 0.0), weight(bins, 0.0);
  std::vector<bool> clipped(bins, false);
  for (const ProfileSample& s : samples) {
    const double out = side * s.t_px;
    const auto bin = static_cast<std::ptrdiff_t>(std::floor((out - low) / kBinPx));
    if (bin < 0 || bin >= static_cast<std::ptrdiff_t>(bins)) continue;
    const auto k = static_cast<std::size_t>(bin);
    sum[k] += s.weight * s.value;
    place[k] += s.weight * out;
    weight[k] += s.weight;
    clipped[k] = clipped[k] || s.value >= image.clip;
  }
  std::vector<Eigen::Vector2d> kept;
  for (std::size_t k = 0; k < bins; ++k) {
    if (weight[k] > 0.0 && !clipped[k]) kept.emplace_back(place[k] / weight[k], sum[k] / weight[k]);
  }
  Shown out{Eigen::VectorXd(static_cast<Eigen::Index>(kept.size())),
            Eigen::VectorXd(static_cast<Eigen::Index>(kept.size()))};
  for (std::size_t k = 0; k < kept.size(); ++k) {
    out.at_px[static_cast<Eigen::Index>(k)] = kept[k].x();
    out.light[static_cast<Eigen::Index>(k)] = kept[k].y();
  }
  if (!kept.empty()) out.range = out.light.maxCoeff() - out.light.minCoeff();
  return out;
}

/// A border beside the rim, outward of the rim's expected place; or, not seen by itself, of the rim
/// wherever that is.
struct Beside {
  double px, u_px;
  bool from_rim = false;
};

/// The model of one stretch: rim, blur and the borders beside it are unknown, levels follow.
class CornerModel {
 public:
  CornerModel(const std::vector<Shown>& colours, const std::vector<Beside>& beside,
              const Spread& spread, double corner_px)
      : colours_(colours),
        beside_(beside),
        ln_blur_(std::log(spread.blur_px)),
        halo_(spread.halo),
        corner_px_(corner_px) {}

  Eigen::VectorXd start(double rim_px) const {
    Eigen::VectorXd x(2 + static_cast<Eigen::Index>(beside_.size()));
    x[0] = rim_px;
    x[1] = ln_blur_;
    for (std::size_t i = 0; i < beside_.size(); ++i)
      x[static_cast<Eigen::Index>(i) + 2] = beside_[i].px + (beside_[i].from_rim ? rim_px : 0.0);
    return x;
  }

  /// Scatter of each colour's bins about the model at x.
  std::vector<double> noise_at(const Eigen::VectorXd& x, const std::vector<double>& noise) const {
    constexpr double kLeastShare = 0.004;  // Of the colour's range.
    std::vector<double> out;
    for (std::size_t c = 0; c < colours_.size(); ++c) {
      const Eigen::Index bins = colours_[c].light.size();
      const Eigen::VectorXd r = left_over(colours_[c], x, noise[c]).head(bins);
      const double free = std::max(static_cast<double>(bins - 2 * x.size()), 2.0);
      out.push_back(std::max(std::sqrt(r.squaredNorm() / free), kLeastShare * colours_[c].range));
    }
    return out;
  }

  /// Over what they scatter by: bins of every colour, then what is known beforehand.
  Eigen::VectorXd residuals(const Eigen::VectorXd& x, const std::vector<double>& noise) const {
    const double alike = std::sqrt(kBinPx / kAlikePx);
    std::vector<double> all;
    for (std::size_t c = 0; c < colours_.size(); ++c) {
      const Eigen::VectorXd r = left_over(colours_[c], x, noise[c]);
      const Eigen::Index bins = colours_[c].light.size();
      for (Eigen::Index i = 0; i < r.size(); ++i)
        all.push_back((i < bins ? alike : 1.0) * r[i] / noise[c]);
    }
    all.push_back(x[0] / kRoughU);
    all.push_back((x[1] - ln_blur_) / kLnBlurU);
    for (std::size_t i = 0; i < beside_.size(); ++i) {
      const double px = x[static_cast<Eigen::Index>(i) + 2] - (beside_[i].from_rim ? x[0] : 0.0);
      all.push_back((px - beside_[i].px) / beside_[i].u_px);
    }
    return Eigen::Map<Eigen::VectorXd>(all.data(), static_cast<Eigen::Index>(all.size()));
  }

 private:
  /// A corner is rounded and mirrors what lies between above and beside: it may glint, but is
  /// hardly darker than both sides of it.
  static double darkness(double face, double step, double corner) {
    constexpr double kLeastShare = 0.7, kShareU = 0.15;
    const double darker = std::max(std::min(face, face + step), 1e-6);
    return std::max(0.0, kLeastShare * darker - (face + corner)) / (kShareU * darker);
  }

  /// What the best levels leave of one colour; then of the usual shade behind the rim, of the usual
  /// light of the corner and of strips beside the rim, and the corner's darkness.
  Eigen::VectorXd left_over(const Shown& colour, const Eigen::VectorXd& x, double noise) const {
    // A corner is as bright as it likes, up to a few times the blurred light's whole range.
    constexpr double kCornerLight = 3.0;
    // A strip is part of a face, which no glint makes brighter than all that shows.
    constexpr double kStripLight = 1.0;
    // What lies behind is shaded toward the rim: a jaw beside the blade that stands over it.
    constexpr double kShadePerPx = 0.06;
    const bool corner = corner_px_ > 0.0;
    const Eigen::Index n = colour.light.size(), m = x.size() + 1 + (corner ? 1 : 0);
    const Spread spread{std::exp(x[1]), halo_};
    const Eigen::Index known = x.size();  // Shade, corner, and each border beside the rim.
    Eigen::MatrixXd design = Eigen::MatrixXd::Zero(n + known, m);
    Eigen::VectorXd light = Eigen::VectorXd::Zero(n + known);
    light.head(n) = colour.light;
    for (Eigen::Index i = 0; i < n; ++i) {
      const double t = colour.at_px[i];
      const double behind = spread.step(t - x[0]);
      design(i, 0) = 1.0;
      design(i, 1) = behind;
      for (Eigen::Index k = 2; k < x.size(); ++k) design(i, k) = spread.step(t - x[k]);
      design(i, x.size()) = std::max(t - x[0], 0.0);
      if (corner) design(i, m - 1) = spread.step(t - x[0] + corner_px_) - behind;
    }
    const double range = std::max(colour.range, 1e-6);
    design(n, x.size()) = noise / (kShadePerPx * range);
    if (corner) design(n + 1, m - 1) = noise / (kCornerLight * range);
    for (Eigen::Index k = 2; k < x.size(); ++k) design(n + k, k) = noise / (kStripLight * range);
    Eigen::MatrixXd normal = design.transpose() * design;
    normal.diagonal().array() += 1e-9;
    const Eigen::VectorXd levels = solved(normal, design.transpose() * light);
    Eigen::VectorXd out(n + known + 1);
    out.head(n + known) = light - design * levels;
    out[n + known] = corner ? noise * darkness(levels[0], levels[1], levels[m - 1]) : 0.0;
    return out;
  }

  const std::vector<Shown>& colours_;
  const std::vector<Beside>& beside_;
  double ln_blur_, halo_, corner_px_;
};

struct Fit {
  Eigen::VectorXd x;
  double loss = std::numeric_limits<double>::infinity();  ///< Minus two log posterior.
  double variance = 0.0;                                  ///< Of the rim, px^2.
};

/// Levenberg and Marquardt.
class Minimiser {
 public:
  Minimiser(const CornerModel& model, const std::vector<double>& noise)
      : model_(model), noise_(noise) {}

  Fit operator()(const Eigen::VectorXd& start) const {
    constexpr double kMostMove = 0.4, kSettled = 1e-3;
    Fit best{start, residuals(start).squaredNorm()};
    Eigen::MatrixXd J, normal;
    Eigen::VectorXd gradient;
    const auto linearise = [&](int) {
      J = jacobian(best.x);
      normal = J.transpose() * J;
      gradient = J.transpose() * residuals(best.x);
    };
    const auto attempt = [&](double damping) {
      Eigen::MatrixXd damped = normal;
      damped.diagonal() *= 1.0 + damping;
      const Eigen::VectorXd move = -solved(damped, gradient);
      const Eigen::VectorXd next = best.x + move.cwiseMax(-kMostMove).cwiseMin(kMostMove);
      const double loss = residuals(next).squaredNorm();
      if (loss >= best.loss) return Tried::left;
      const bool settled = best.loss - loss < kSettled;
      best.x = next;
      best.loss = loss;
      return settled ? Tried::settled : Tried::taken;
    };
    descend({.eased = 0.3, .stiffened = 8.0, .least = 1e-6, .most = 1e4, .steps = 15}, linearise,
            attempt);
    J = jacobian(best.x);
    best.variance = (J.transpose() * J).inverse()(0, 0);
    return best;
  }

 private:
  Eigen::VectorXd residuals(const Eigen::VectorXd& x) const { return model_.residuals(x, noise_); }

  Eigen::MatrixXd jacobian(const Eigen::VectorXd& x) const {
    constexpr double kStep = 0.01;
    Eigen::MatrixXd J(residuals(x).size(), x.size());
    for (Eigen::Index i = 0; i < x.size(); ++i) {
      Eigen::VectorXd ahead = x, behind = x;
      ahead[i] += kStep, behind[i] -= kStep;
      J.col(i) = (residuals(ahead) - residuals(behind)) / (2.0 * kStep);
    }
    return J;
  }

  const CornerModel& model_;
  const std::vector<double>& noise_;
};

/// The rim near its start, and no other border on top of it.
bool usable(const Fit& fit) {
  constexpr double kStrayPx = 2.2, kLeastApartPx = 0.2;
  if (fit.x.size() == 0 || !fit.x.allFinite() || !(fit.variance > 0.0)) return false;
  for (Eigen::Index i = 2; i < fit.x.size(); ++i) {
    if (std::abs(fit.x[i] - fit.x[0]) < kLeastApartPx) return false;
  }
  return std::abs(fit.x[0]) < kStrayPx;
}

struct RimPlace {
  double out_px, variance;
};

/// Where the rim is in one stretch: over every width of the corner, each by how likely it is.
std::optional<RimPlace> place_of(const std::vector<Shown>& colours,
                                 const std::vector<Beside>& beside, const Spread& spread,
                                 double px_per_mm) {
  constexpr double kUsualNoise = 0.01;  // Of the range, before the fits tell.
  std::vector<double> noise;
  for (const Shown& colour : colours) noise.push_back(kUsualNoise * colour.range);
  std::vector<CornerModel> models;
  for (const double corner_mm : kCornerWidthsMm)
    models.emplace_back(colours, beside, spread, corner_mm * px_per_mm);
  std::vector<Fit> fits(models.size());
  std::size_t likeliest = 0;
  for (std::size_t i = 0; i < models.size(); ++i) {
    for (const double start : {0.0, -1.0, 1.0}) {
      Fit fit = Minimiser(models[i], noise)(models[i].start(start));
      if (usable(fit) && fit.loss < fits[i].loss) fits[i] = std::move(fit);
    }
    if (fits[i].loss < fits[likeliest].loss) likeliest = i;
  }
  if (!usable(fits[likeliest])) return std::nullopt;
  noise = models[likeliest].noise_at(fits[likeliest].x, noise);
  double least = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < models.size(); ++i) {
    if (!usable(fits[i])) continue;
    fits[i] = Minimiser(models[i], noise)(fits[i].x);
    if (usable(fits[i])) least = std::min(least, fits[i].loss);
  }
  double sum = 0.0, mean = 0.0, square = 0.0;
  for (const Fit& fit : fits) {
    if (!usable(fit)) continue;
    const double likely = std::exp(-0.5 * (fit.loss - least)) * std::sqrt(fit.variance);
    sum += likely;
    mean += likely * fit.x[0];
    square += likely * (fit.x[0] * fit.x[0] + fit.variance);
  }
  if (!(sum > 0.0)) return std::nullopt;
  mean /= sum;
  return RimPlace{mean, square / sum - mean * mean};
}

/// Borders beside a rim that are none of its corner's own; with the lower end of the flat's own
/// face where the camera, so far aslant, must see some of it.
std::vector<Beside> borders_beside(const Rim& rim, double px_per_mm, double aslant) {
  constexpr double kOwnInsidePx = 2.2, kOwnOutsidePx = 1.3;
  constexpr double kFoundU = 0.2;
  constexpr double kSeenMm = 6.0, kSeenShareU = 0.5;  // Of the flat: the edge stands 2-10 mm proud.
  constexpr double kLeastStripPx = 0.3, kMostStripPx = 4.0;
  // Where the flat is out of sight, or its lower end is seen farther out, a strip as narrow as a
  // corner is the corner.
  const double corner_px = kOwnOutsidePx + kWidestCornerMm * px_per_mm;
  const bool end_seen = std::any_of(rim.beside_mm.begin(), rim.beside_mm.end(), [&](double mm) {
    return mm * px_per_mm > corner_px && mm > kLeastSeenMm * aslant && mm < kMostSeenMm * aslant;
  });
  const double own_outside_px = aslant > 0.0 && !end_seen ? kOwnOutsidePx : corner_px;
  std::vector<Beside> out;
  bool outside = false;
  for (const double mm : rim.beside_mm) {
    const double px = mm * px_per_mm;
    if (px > -kOwnInsidePx && px < own_outside_px) continue;
    out.push_back({px, kFoundU});
    outside = outside || px > 0.0;
  }
  const double strip_px = kSeenMm * aslant * px_per_mm;
  if (!outside && strip_px > kLeastStripPx && strip_px < kMostStripPx)
    out.push_back({strip_px, kSeenShareU * strip_px, true});
  return out;
}

std::optional<CornerRim> fit_rim(const LaneImage& image, const StripFrame& frame, double px_per_mm,
                                 const Rim& rough, double s_begin_mm, double s_end_mm, int side,
                                 const Spread& spread) {
  constexpr double kStretchMm = 15.0;
  constexpr std::size_t kLeastStretches = 3;
  const double middle = 0.5 * (s_begin_mm + s_end_mm);
  const double aslant = aslant_at(frame, rough.line.t_mm(middle), side);
  const std::vector<Beside> beside = borders_beside(rough, px_per_mm, aslant);
  double inside_px = kInsidePx, outside_px = kOutsidePx;
  for (const Beside& other : beside) {
    inside_px = std::max(inside_px, kBeyondPx - other.px);
    outside_px = std::max(outside_px, kBeyondPx + other.px);
  }
  const double length = s_end_mm - s_begin_mm;
  const int count = std::max(static_cast<int>(length / kStretchMm), 3);
  std::vector<Eigen::Vector2d> places;
  double variance = 0.0;
  std::vector<double> apart;  // What colours say by themselves, less what they say together.
  for (int i = 0; i < count; ++i) {
    const double s = s_begin_mm + (i + 0.5) * length / count;
    const Band band{.s_mm = s,
                    .t_mid_mm = rough.line.t_mm(s),
                    .slope = rough.line.slope,
                    .half_length_mm = 0.5 * length / count,
                    .t_low_mm = -(side > 0 ? inside_px : outside_px) / px_per_mm,
                    .t_high_mm = (side > 0 ? outside_px : inside_px) / px_per_mm};
    std::vector<Shown> colours{shown(image, &LaneImage::grey, frame, band, side, px_per_mm)};
    if (image.dyed())
      colours.push_back(shown(image, &LaneImage::flats, frame, band, side, px_per_mm));
    const auto place = place_of(colours, beside, spread, px_per_mm);
    if (!place) continue;
    places.emplace_back(s, rough.line.t_mm(s) + side * place->out_px / px_per_mm);
    variance += place->variance;
    if (colours.size() == 1) continue;
    for (const Shown& colour : colours) {
      if (const auto alone = place_of({colour}, beside, spread, px_per_mm))
        apart.push_back(std::abs(alone->out_px - place->out_px));
    }
  }
  if (places.size() < kLeastStretches) return std::nullopt;
  const auto stretches = static_cast<double>(places.size());
  const LineFit line = fit_line_robust(places);
  const double slope = std::tan(line.direction_rad);
  const double colours_px = apart.empty() ? 0.0 : median(apart);
  const double u_px = std::hypot(std::sqrt(variance / stretches), std::hypot(kModelPx, colours_px));
  return CornerRim{{line.centre.y() - slope * line.centre.x(), slope},
                   std::hypot(u_px / px_per_mm, line.sigma / std::sqrt(stretches)),
                   line.sigma};
}

}  // namespace

std::optional<CornerRims> fit_corner_rims(const LaneImage& image, const StripFrame& frame,
                                          double px_per_mm, const RimPair& rough,
                                          const Spread& spread) {
  const auto high =
      fit_rim(image, frame, px_per_mm, rough.high, rough.s_begin_mm, rough.s_end_mm, +1, spread);
  const auto low =
      fit_rim(image, frame, px_per_mm, rough.low, rough.s_begin_mm, rough.s_end_mm, -1, spread);
  if (!high || !low) return std::nullopt;
  return CornerRims{*high, *low};
}

}  // namespace evenbevel::edge
