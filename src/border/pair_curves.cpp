#include "border/pair_curves.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <Eigen/SparseCholesky>
#include <Eigen/SparseCore>
#include <opencv2/core/utility.hpp>

#include "fit/straight.hpp"

namespace evenbevel {
namespace {

constexpr double kKnotMm = 4.0;
// Variance of the slope's walk per mm (as in smooth_curve), from nearly straight to waves of 2 cm.
// A belt-ground edge wanders by hundredths of a mm over several cm: common practice, no source.
constexpr double kStiffest = 1e-12, kSoftestMiddle = 3e-7, kSoftestWidth = 3e-8,
                 kSoftestParallel = 1e-11;
constexpr double kPairHuber = 2.5;
// A step fainter than this, over the brightest surface: a burr would move it by more than it is
// wide, and no reading of it is worth having.
constexpr double kFaintest = 0.02;

/// Everything a band says in one colour at fixed positions.
struct Expansion {
  Eigen::Vector2d amplitude = Eigen::Vector2d::Zero(), amplitude_u = Eigen::Vector2d::Zero();
  Eigen::MatrixXd J;  ///< Samples x 2, per unit amplitude, less what the levels explain.
  Eigen::VectorXd residuals, weights;
  double variance = 0.0;   ///< Of a sample of weight 1.
  double largest = 0.0;    ///< Amplitude.
  double brightest = 0.0;  ///< Level about the borders.
};

/// Of the surfaces that steps part; 0 where there are other borders.
double brightest_level(const std::vector<ProfilePart>& parts, const Eigen::VectorXd& linear) {
  double level = linear[0], brightest = level;
  for (std::size_t k = 0; k < parts.size(); ++k) {
    if (parts[k].shape != ProfilePart::Shape::step) return 0.0;
    level += linear[static_cast<Eigen::Index>(k) + 1];
    brightest = std::max(brightest, level);
  }
  return brightest;
}

/// What a band's samples are made of: levels times their responses, and how those move with the
/// positions. Clipped samples have no weight.
struct Design {
  Eigen::MatrixXd responses, slopes;
  Eigen::VectorXd values, weights;
};

Design design_of(const PairBand& band, const std::vector<ProfileSample>& samples,
                 const Eigen::Vector2d& at_px, double blur_px) {
  const std::vector<ProfilePart>& parts = band.model.parts;
  const auto n = static_cast<Eigen::Index>(samples.size());
  const auto m = static_cast<Eigen::Index>(parts.size()) + 1;
  Design out{Eigen::MatrixXd(n, m), Eigen::MatrixXd::Zero(n, 2), Eigen::VectorXd(n),
             Eigen::VectorXd(n)};
  for (Eigen::Index i = 0; i < n; ++i) {
    const ProfileSample& s = samples[static_cast<std::size_t>(i)];
    out.responses(i, 0) = 1.0;
    out.values[i] = std::min(s.value, band.model.clip);
    out.weights[i] = s.value >= band.model.clip ? 0.0 : s.weight;
    for (Eigen::Index k = 0; k + 1 < m; ++k) {
      const ProfilePart& part = parts[static_cast<std::size_t>(k)];
      const PartResponse r = part_response(part, s.t_px - at_px[part.position], blur_px);
      out.responses(i, k + 1) = r.value;
      out.slopes(i, part.position) = r.d_position;
    }
  }
  return out;
}

/// Amplitudes by weighted least squares with Huber's weights; clipped samples only bound.
Expansion expand(const PairBand& band, const std::vector<ProfileSample>& samples,
                 const Eigen::Vector2d& at_px, double blur_factor) {
  Expansion out;
  const std::vector<ProfilePart>& parts = band.model.parts;
  const auto n = static_cast<Eigen::Index>(samples.size());
  const auto m = static_cast<Eigen::Index>(parts.size()) + 1;
  if (n <= m + 2) return out;
  const auto [design, slopes, values, weights] =
      design_of(band, samples, at_px, blur_factor * band.model.blur_px);
  Eigen::VectorXd robust = weights;
  Eigen::VectorXd linear;
  Eigen::LDLT<Eigen::MatrixXd> solver;
  for (int round = 0; round < 3; ++round) {
    Eigen::MatrixXd normal = design.transpose() * robust.asDiagonal() * design;
    normal.diagonal().array() += 1e-9 * std::max(normal.trace(), 1e-12);
    solver.compute(normal);
    linear = solver.solve(design.transpose() * robust.asDiagonal() * values);
    out.residuals = values - design * linear;
    const Eigen::VectorXd scaled = out.residuals.cwiseProduct(weights.cwiseSqrt());
    std::vector<double> sizes;
    for (Eigen::Index i = 0; i < n; ++i)
      if (weights[i] > 0.0) sizes.push_back(std::abs(scaled[i]));
    if (sizes.size() < static_cast<std::size_t>(m) + 3) return {};
    std::nth_element(sizes.begin(), sizes.begin() + static_cast<std::ptrdiff_t>(sizes.size() / 2),
                     sizes.end());
    const double limit = kPairHuber * std::max(1.4826 * sizes[sizes.size() / 2], 1e-9);
    for (Eigen::Index i = 0; i < n; ++i) {
      const double size = std::abs(scaled[i]);
      robust[i] = weights[i] * (size > limit ? limit / size : 1.0);
    }
  }
  double used = 0.0;
  for (Eigen::Index i = 0; i < n; ++i) used += weights[i] > 0.0 ? 1.0 : 0.0;
  out.variance =
      out.residuals.cwiseAbs2().dot(robust) / std::max(used - static_cast<double>(m) - 2.0, 1.0);
  const Eigen::MatrixXd inverse = solver.solve(Eigen::MatrixXd::Identity(m, m));
  // What the levels explain of a shift is no evidence of it.
  out.J = slopes - design * solver.solve(design.transpose() * robust.asDiagonal() * slopes);
  out.weights = robust;
  for (Eigen::Index k = 0; k + 1 < m; ++k) {
    const int position = parts[static_cast<std::size_t>(k)].position;
    if (position > 1) continue;
    out.amplitude[position] = linear[k + 1];
    out.amplitude_u[position] = std::sqrt(std::max(out.variance * inverse(k + 1, k + 1), 0.0));
    out.largest = std::max(out.largest, std::abs(linear[k + 1]));
  }
  out.brightest = brightest_level(parts, linear);
  return out;
}

/// Amplitudes as neighbours have them too: a band's own are as noisy as what they must judge.
std::vector<Eigen::Vector2d> pooled(std::span<const PairBand> bands,
                                    const std::vector<Expansion>& at,
                                    std::vector<Eigen::Vector2d>& sigmas) {
  constexpr double kPoolMm = 4.0;
  std::vector<Eigen::Vector2d> out(bands.size(), Eigen::Vector2d::Zero());
  sigmas.assign(bands.size(), Eigen::Vector2d::Zero());
  for (std::size_t i = 0; i < bands.size(); ++i) {
    Eigen::Vector2d sum = Eigen::Vector2d::Zero(), weight = Eigen::Vector2d::Zero();
    for (std::size_t k = 0; k < bands.size(); ++k) {
      if (std::abs(bands[k].s_mm - bands[i].s_mm) > kPoolMm || at[k].residuals.size() == 0)
        continue;
      for (int border = 0; border < 2; ++border) {
        const double w =
            1.0 / std::max(at[k].amplitude_u[border] * at[k].amplitude_u[border], 1e-12);
        sum[border] += w * at[k].amplitude[border];
        weight[border] += w;
      }
    }
    for (int border = 0; border < 2; ++border) {
      if (weight[border] <= 0.0) continue;
      out[i][border] = sum[border] / weight[border];
      sigmas[i][border] = std::abs(out[i][border]) * std::sqrt(weight[border]);
    }
  }
  return out;
}

double not_too_faint(double step, double brightest) {
  return std::copysign(std::max(std::abs(step), kFaintest * brightest), step);
}

/// Adds what a band says in one colour. An amplitude that is noise alone (below 2 sigma) says
/// nothing.
void add(const Expansion& e, Eigen::Vector2d amplitude, const Eigen::Vector2d& sigmas,
         double px_per_mm, PairInformation& info) {
  if (e.residuals.size() == 0 || !(e.variance > 0.0)) return;
  for (int border = 0; border < 2; ++border) {
    const double z2 = sigmas[border] * sigmas[border];
    if (e.brightest > 0.0 && sigmas[border] > info.contrast_sigmas[border])
      info.per_burr[border] = -e.brightest / not_too_faint(amplitude[border], e.brightest);
    amplitude[border] *= std::sqrt(std::max(0.0, 1.0 - 2.0 / std::max(z2, 1e-9)));
    if (std::abs(amplitude[border]) < kFaintest * e.brightest) amplitude[border] = 0.0;
  }
  const Eigen::MatrixXd J = e.J * (amplitude * px_per_mm).asDiagonal();  // Positions are in px.
  info.information += J.transpose() * e.weights.asDiagonal() * J / e.variance;
  info.gradient += J.transpose() * e.weights.cwiseProduct(e.residuals) / e.variance;
  info.contrast_sigmas = info.contrast_sigmas.cwiseMax(sigmas);
  const double residual =
      std::sqrt(e.variance / std::max(e.weights.mean(), 1e-9)) / std::max(e.largest, 1e-6);
  info.residual = info.residual > 0.0 ? std::min(info.residual, residual) : residual;
}

std::vector<PairInformation> expanded(std::span<const PairBand> bands,
                                      std::span<const Eigen::Vector2d> at_mm, double blur_factor) {
  std::vector<PairInformation> out(bands.size());
  for (std::size_t i = 0; i < bands.size(); ++i) {
    out[i].s_mm = bands[i].s_mm;
    out[i].at_mm = at_mm[i];
  }
  for (std::size_t colour = 0; colour < bands.front().colours.size(); ++colour) {
    std::vector<Expansion> expansions(bands.size());
    cv::parallel_for_(cv::Range(0, static_cast<int>(bands.size())), [&](const cv::Range& range) {
      for (int i = range.start; i < range.end; ++i) {
        const auto k = static_cast<std::size_t>(i);
        const Eigen::Vector2d at_px =
            (at_mm[k].array() - bands[k].zero_mm).matrix() * bands[k].px_per_mm;
        expansions[k] = expand(bands[k], bands[k].colours[colour], at_px, blur_factor);
      }
    });
    std::vector<Eigen::Vector2d> sigmas;
    const std::vector<Eigen::Vector2d> amplitudes = pooled(bands, expansions, sigmas);
    for (std::size_t i = 0; i < bands.size(); ++i)
      add(expansions[i], amplitudes[i], sigmas[i], bands[i].px_per_mm, out[i]);
  }
  return out;
}

}  // namespace

/// Cubic B-splines on equal knots.
PairCurves::Weights PairCurves::weights(double s_mm) const {
  const double last = static_cast<double>(knots_ - 3);
  const double at = std::clamp((s_mm - first_mm_) / knot_mm_, 0.0, last - 1e-9);
  const auto whole = static_cast<Eigen::Index>(at);
  const double f = at - static_cast<double>(whole), g = 1.0 - f;
  return {whole,
          {g * g * g / 6.0, (3.0 * f * f * f - 6.0 * f * f + 4.0) / 6.0,
           (3.0 * g * g * g - 6.0 * g * g + 4.0) / 6.0, f * f * f / 6.0}};
}

Eigen::Matrix2d PairCurves::covariance_at(const Weights& at, const Eigen::MatrixXd& of_knots) {
  Eigen::Matrix2d out = Eigen::Matrix2d::Zero();
  for (Eigen::Index p = 0; p < 4; ++p) {
    for (Eigen::Index q = 0; q < 4; ++q) {
      out += at.of[p] * at.of[q] * of_knots.block<2, 2>(2 * (at.first + p), 2 * (at.first + q));
    }
  }
  return out;
}

PairCurves::Place PairCurves::at(double s_mm) const {
  const Weights at = weights(s_mm);
  double middle = 0.0, width = 0.0;
  for (Eigen::Index p = 0; p < 4; ++p) {
    middle += at.of[p] * coefficients_[2 * (at.first + p)];
    width += at.of[p] * coefficients_[2 * (at.first + p) + 1];
  }
  const Eigen::Matrix2d all = covariance_at(at, covariance_);
  const double mm = all(0, 0), ww = all(1, 1), mw = all(0, 1);
  const double by_burrs = covariance_at(at, by_burrs_)(0, 0);
  const auto root = [](double v) { return std::sqrt(std::max(v, 0.0)); };
  return {.low_mm = middle - 0.5 * width,
          .high_mm = middle + 0.5 * width,
          .u_low_mm = root(mm + 0.25 * ww - mw),
          .u_high_mm = root(mm + 0.25 * ww + mw),
          .u_width_mm = root(ww),
          .u_middle_mm = root(mm - by_burrs),
          .u_burr_mm = root(by_burrs)};
}

namespace {

/// Middle and width in turn, so that what belongs together stands together: a banded system.
using Banded = Eigen::SparseMatrix<double>;
using BandedSolver = Eigen::SimplicialLDLT<Banded, Eigen::Lower, Eigen::NaturalOrdering<int>>;

Eigen::Index middle_of(Eigen::Index knot) { return 2 * knot; }
Eigen::Index width_of(Eigen::Index knot) { return 2 * knot + 1; }

/// Second differences of the coefficients of one curve, squared: a walk of its slope.
Banded walk(Eigen::Index knots, double knot_mm, Eigen::Index (*place)(Eigen::Index)) {
  constexpr double kDifference[3] = {1.0, -2.0, 1.0};
  const double weight = 1.0 / std::pow(knot_mm, 3);
  std::vector<Eigen::Triplet<double>> entries;
  for (Eigen::Index i = 0; i + 2 < knots; ++i) {
    for (int a = 0; a < 3; ++a) {
      for (int b = 0; b < 3; ++b) {
        entries.emplace_back(place(i + a), place(i + b), weight * kDifference[a] * kDifference[b]);
      }
    }
  }
  Banded out(2 * knots, 2 * knots);
  out.setFromTriplets(entries.begin(), entries.end());
  return out;
}

/// A stretch's width as its bands read it, each for itself.
struct StretchWidth {
  double s_mm, width_mm;
  double variance;      // mm^2, by noise.
  double per_burr_mm2;  // Mean square of what a burr of unit width moves the two borders by.
};

std::vector<StretchWidth> stretch_widths(std::span<const PairInformation> bands) {
  constexpr double kStretchMm = 0.5 * kBurrWaveMm;
  constexpr double kNearOthersMm = 0.05;  // Of a border that its band says nothing of.
  constexpr double kLeastU = 0.001;       // mm: a ground border's own roughness.
  std::vector<StretchWidth> out;
  for (std::size_t i = 0; i < bands.size();) {
    const double end_mm = bands[i].s_mm + kStretchMm;
    double weights = 0.0, widths = 0.0, places = 0.0, squares = 0.0;
    for (; i < bands.size() && bands[i].s_mm < end_mm; ++i) {
      const PairInformation& band = bands[i];
      const Eigen::Matrix2d covariance =
          (band.information + Eigen::Matrix2d::Identity() / (kNearOthersMm * kNearOthersMm))
              .inverse();
      const Eigen::Vector2d at_mm = band.at_mm + covariance * band.gradient;
      const Eigen::Vector2d across(-1.0, 1.0);
      const double weight = 1.0 / (across.dot(covariance * across) + kLeastU * kLeastU);
      weights += weight;
      widths += weight * across.dot(at_mm);
      places += weight * band.s_mm;
      squares += weight * band.per_burr.squaredNorm();
    }
    out.push_back({places / weights, widths / weights, 1.0 / weights, squares / weights});
  }
  return out;
}

/// What burrs there are beyond `kBurrMm`, by what a land's width wanders along the blade: a burr
/// hangs from one border here and there, where a belt grinds both.
double shown_burr_mm(std::span<const PairInformation> bands) {
  constexpr std::size_t kLeastStretches = 4;
  constexpr double kGroundMm = 0.015;  // A belt's own wander, RMS: common practice, no source.
  const std::vector<StretchWidth> stretches = stretch_widths(bands);
  std::vector<Eigen::Vector2d> widths;
  for (const StretchWidth& stretch : stretches) {
    if (!(stretch.per_burr_mm2 > 0.0)) return 0.0;
    widths.emplace_back(stretch.s_mm, stretch.width_mm);
  }
  const std::optional<Straight> taper = straight_through(widths);
  if (stretches.size() < kLeastStretches || !taper) return 0.0;
  double wander = 0.0, sum = 0.0;
  for (const StretchWidth& stretch : stretches) {
    const double off = stretch.width_mm - taper->value - taper->slope * stretch.s_mm;
    wander += off * off - stretch.variance;
    sum += (off * off - stretch.variance) / stretch.per_burr_mm2;
  }
  const auto known = static_cast<double>(stretches.size() - 2);
  if (wander < kGroundMm * kGroundMm * known) return 0.0;
  // It hangs outward only: on average it is about as far off as it wanders.
  const double variance = 2.0 * sum / known;
  return std::sqrt(std::max(variance - kBurrMm * kBurrMm, 0.0));
}

/// As many bands as share a burr say no more together than the burr leaves them.
std::vector<PairInformation> with_burrs(std::span<const PairInformation> bands) {
  const double length = bands.back().s_mm - bands.front().s_mm;
  const double sharing = std::max(
      kBurrWaveMm * static_cast<double>(bands.size()) / std::max(length, kBurrWaveMm), 1.0);
  std::vector<PairInformation> out(bands.begin(), bands.end());
  for (PairInformation& band : out) {
    const Eigen::Vector2d u = kBurrMm * band.per_burr;
    // (information^-1 + variance)^-1, also where a border says nothing.
    const Eigen::Matrix2d left =
        (Eigen::Matrix2d::Identity() +
         band.information * (sharing * u.cwiseAbs2()).asDiagonal().toDenseMatrix())
            .inverse();
    band.information = (left * band.information).eval();
    band.information = (0.5 * (band.information + band.information.transpose())).eval();
    band.gradient = (left * band.gradient).eval();
  }
  return out;
}

/// Columns of the low and the high border in turn, knot by knot, to one each: a burr all along.
Eigen::MatrixX2d along_all(const Eigen::MatrixXd& by_knots) {
  Eigen::MatrixX2d out = Eigen::MatrixX2d::Zero(by_knots.rows(), 2);
  for (Eigen::Index i = 0; i < by_knots.cols(); ++i) out.col(i % 2) += by_knots.col(i);
  return out;
}

/// Linear between knots: shares of the two nearest.
struct BurrPlace {
  Eigen::Index knot;
  Eigen::Vector2d of;
};

BurrPlace burr_place(double along_mm, double knot_mm, Eigen::Index knots) {
  const double at = std::clamp(along_mm / knot_mm, 0.0, static_cast<double>(knots - 1) - 1e-9);
  const auto knot = static_cast<Eigen::Index>(at);
  const double part = at - static_cast<double>(knot);
  return {knot, {1.0 - part, part}};
}

/// (low, high) from (middle, width).
Eigen::Matrix2d borders_of_pair() { return (Eigen::Matrix2d() << 1.0, -0.5, 1.0, 0.5).finished(); }

}  // namespace

Eigen::MatrixXd PairCurves::pulls_of_burrs(std::span<const PairInformation> bands,
                                           std::span<const double> trust) const {
  const double length = bands.back().s_mm - bands.front().s_mm;
  const Eigen::Index burr_knots = std::max<Eigen::Index>(std::lround(length / kBurrWaveMm), 1) + 1;
  const double burr_knot_mm = std::max(length, 1.0) / static_cast<double>(burr_knots - 1);
  const Eigen::Matrix2d to_borders = borders_of_pair();
  Eigen::MatrixXd pulls = Eigen::MatrixXd::Zero(2 * knots_, 2 * burr_knots);
  for (std::size_t i = 0; i < bands.size(); ++i) {
    const Weights at = weights(bands[i].s_mm);
    const BurrPlace burr = burr_place(bands[i].s_mm - first_mm_, burr_knot_mm, burr_knots);
    const Eigen::Matrix2d pull = trust[i] * to_borders.transpose() * bands[i].information *
                                 bands[i].per_burr.asDiagonal().toDenseMatrix();
    for (Eigen::Index p = 0; p < 4; ++p) {
      for (Eigen::Index k = 0; k < 2; ++k) {
        pulls.block<2, 2>(2 * (at.first + p), 2 * (burr.knot + k)) += at.of[p] * burr.of[k] * pull;
      }
    }
  }
  return pulls;
}

PairCurves::Normal PairCurves::normal_equations(std::span<const PairInformation> bands,
                                                std::span<const double> trust) const {
  const Eigen::Matrix2d to_borders = borders_of_pair();
  std::vector<Eigen::Triplet<double>> entries;
  Normal out{Banded(2 * knots_, 2 * knots_), Eigen::VectorXd::Zero(2 * knots_)};
  for (std::size_t i = 0; i < bands.size(); ++i) {
    const Eigen::Matrix2d A = trust[i] * to_borders.transpose() * bands[i].information * to_borders;
    const Eigen::Vector2d b = trust[i] * to_borders.transpose() *
                              (bands[i].information * bands[i].at_mm + bands[i].gradient);
    const Weights at = weights(bands[i].s_mm);
    for (Eigen::Index p = 0; p < 4; ++p) {
      const Eigen::Index row = 2 * (at.first + p);
      for (Eigen::Index q = 0; q < 4; ++q) {
        const Eigen::Index column = 2 * (at.first + q);
        for (Eigen::Index k = 0; k < 4; ++k)
          entries.emplace_back(row + k / 2, column + k % 2, at.of[p] * at.of[q] * A(k / 2, k % 2));
      }
      out.right.segment<2>(row) += at.of[p] * b;
    }
  }
  out.matrix.setFromTriplets(entries.begin(), entries.end());
  return out;
}  // NOLINT(clang-analyzer-unix.Malloc): the sparse matrix frees what it holds.

std::optional<PairCurves::Banded> PairCurves::stiffen(const Normal& data, double softest_width) {
  constexpr double kSofterMiddle = 4.0, kSofterWidth = 6.0;  // From one stiffness to the next.
  const Banded walk_of_middle = walk(knots_, knot_mm_, middle_of);
  const Banded walk_of_width = walk(knots_, knot_mm_, width_of);
  struct Trial {
    double middle, width;
    double deviance = std::numeric_limits<double>::infinity();
    Eigen::VectorXd coefficients = {};
  };
  std::vector<Trial> trials;
  for (double middle = kStiffest; middle <= 1.01 * kSoftestMiddle; middle *= kSofterMiddle) {
    for (double width = kStiffest; width <= 1.01 * softest_width; width *= kSofterWidth)
      trials.push_back({middle, width});
  }
  const auto matrix_of = [&](const Trial& trial) -> Banded {
    return data.matrix + walk_of_middle * (1.0 / trial.middle) +
           walk_of_width * (1.0 / trial.width);
  };
  const auto try_some = [&](const cv::Range& range) {
    BandedSolver solver;
    solver.analyzePattern(matrix_of(trials.front()));
    for (int i = range.start; i < range.end; ++i) {
      Trial& trial = trials[static_cast<std::size_t>(i)];
      solver.factorize(matrix_of(trial));
      if (solver.info() != Eigen::Success) continue;
      trial.coefficients = solver.solve(data.right);
      trial.deviance =
          solver.vectorD().array().log().sum() +
          static_cast<double>(knots_ - 2) * (std::log(trial.middle) + std::log(trial.width)) -
          data.right.dot(trial.coefficients);
    }
  };
  cv::parallel_for_(cv::Range(0, static_cast<int>(trials.size())), try_some, cv::getNumThreads());
  const auto best = std::ranges::min_element(trials, {}, &Trial::deviance);
  if (std::isinf(best->deviance)) return std::nullopt;
  coefficients_ = best->coefficients;
  return matrix_of(*best);
}

double PairCurves::weigh(std::span<const PairInformation> bands, double phi,
                         std::span<double> trust) const {
  constexpr double kMostSquare = 9.0;
  double sum = 0.0;
  for (std::size_t i = 0; i < bands.size(); ++i) {
    const Place place = at(bands[i].s_mm);
    const Eigen::Matrix2d& information = bands[i].information;
    const Eigen::Vector2d off = Eigen::Vector2d(place.low_mm, place.high_mm) - bands[i].at_mm;
    const Eigen::Vector2d pull = information * off - bands[i].gradient;
    const Eigen::Matrix2d safe =
        information + 1e-3 * (information.trace() + 1e-9) * Eigen::Matrix2d::Identity();
    const double square = pull.dot(safe.inverse() * pull) / phi;
    trust[i] = square > kMostSquare ? std::sqrt(kMostSquare / square) : 1.0;
    sum += std::min(square, kMostSquare) * phi;
  }
  const auto count = static_cast<double>(bands.size());
  return std::max(1.0, sum / std::max(2.0 * count - 12.0, count));
}

PairCurves fit_pair_curves(std::span<const PairInformation> as_read, PairWidth kind) {
  constexpr int kRounds = 4;
  const std::vector<PairInformation> bands = with_burrs(as_read);
  const double shown_mm = shown_burr_mm(as_read);
  const double softest_width = kind == PairWidth::parallel ? kSoftestParallel : kSoftestWidth;
  PairCurves curves;
  const double length = std::max(bands.back().s_mm - bands.front().s_mm, 1.0);
  const auto spans = static_cast<Eigen::Index>(std::ceil(length / kKnotMm));
  curves.first_mm_ = bands.front().s_mm;
  curves.knot_mm_ = length / static_cast<double>(spans);
  curves.knots_ = spans + 3;
  const Eigen::Index size = 2 * curves.knots_;
  PairCurves::Banded level(size, size);  // A level and a slope far wider than any blade.
  level.setIdentity();
  level *= 1e-6;
  std::vector<double> trust(bands.size(), 1.0);
  double phi = 1.0;
  for (int round = 0; round < kRounds; ++round) {
    PairCurves::Normal data = curves.normal_equations(bands, trust);
    data.matrix /= phi;
    data.matrix += level;
    data.right /= phi;
    const auto best = curves.stiffen(data, softest_width);
    if (!best) break;
    const BandedSolver solver(*best);
    curves.covariance_ = solver.solve(Eigen::MatrixXd::Identity(size, size));
    const Eigen::MatrixXd moved = solver.solve(curves.pulls_of_burrs(bands, trust) / phi);
    curves.by_burrs_ = kBurrMm * kBurrMm * moved * moved.transpose();
    const Eigen::MatrixXd by_shown = shown_mm * along_all(moved);
    curves.by_burrs_ += by_shown * by_shown.transpose();
    curves.covariance_ += by_shown * by_shown.transpose();
    phi = curves.weigh(bands, phi, trust);
  }
  curves.scale_ = std::sqrt(phi);
  return curves;
}

std::vector<PairInformation> pair_information(std::span<const PairBand> bands,
                                              std::span<const Eigen::Vector2d> start_mm,
                                              PairWidth width) {
  std::vector<Eigen::Vector2d> at(start_mm.begin(), start_mm.end());
  std::vector<PairInformation> information;
  if (bands.empty()) return information;
  // From start places a px or two off; never so far at once that the borders change places.
  constexpr double kMostMovePx = 0.8;
  for (const double blur_factor : {1.8, 1.4, 1.0, 1.0, 1.0}) {
    information = expanded(bands, at, blur_factor);
    if (bands.size() < 4) return information;
    const PairCurves curves = fit_pair_curves(information, width);
    for (std::size_t i = 0; i < bands.size(); ++i) {
      const PairCurves::Place place = curves.at(bands[i].s_mm);
      const double most_mm = kMostMovePx / bands[i].px_per_mm;
      const Eigen::Vector2d move = Eigen::Vector2d(place.low_mm, place.high_mm) - at[i];
      at[i] += move.cwiseMax(-most_mm).cwiseMin(most_mm);
    }
  }
  return expanded(bands, at, 1.0);
}

}  // namespace evenbevel
