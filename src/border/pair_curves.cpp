#include "border/pair_curves.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <opencv2/core/utility.hpp>

namespace evenbevel {
namespace {

constexpr double kKnotMm = 4.0;
// Variance of the slope's walk per mm (as in smooth_curve), from nearly straight to waves of 2 cm.
// A belt-ground edge wanders by hundredths of a mm over several cm: common practice, no source.
constexpr double kStiffest = 1e-12, kSoftestMiddle = 3e-7, kSoftestWidth = 3e-8;
constexpr double kHuber = 2.5;

/// Everything a band says at fixed positions.
struct Expansion {
  Eigen::Vector2d amplitude = Eigen::Vector2d::Zero(), amplitude_u = Eigen::Vector2d::Zero();
  Eigen::MatrixXd J;  ///< Samples x 2, per unit amplitude, less what the levels explain.
  Eigen::VectorXd residuals, weights;
  double variance = 0.0;  ///< Of a sample of weight 1.
  double largest = 0.0;   ///< Amplitude.
};

/// Amplitudes by weighted least squares with Huber's weights; clipped samples only bound.
Expansion expand(const PairBand& band, const Eigen::Vector2d& at_px, double blur_factor) {
  Expansion out;
  const std::vector<ProfilePart>& parts = band.model.parts;
  const auto n = static_cast<Eigen::Index>(band.samples.size());
  const auto m = static_cast<Eigen::Index>(parts.size()) + 1;
  if (n <= m + 2) return out;
  const double blur = blur_factor * band.model.blur_px;
  Eigen::MatrixXd design(n, m), slopes = Eigen::MatrixXd::Zero(n, 2);
  Eigen::VectorXd values(n), weights(n);
  for (Eigen::Index i = 0; i < n; ++i) {
    const ProfileSample& s = band.samples[static_cast<std::size_t>(i)];
    design(i, 0) = 1.0;
    values[i] = std::min(s.value, band.model.clip);
    weights[i] = s.value >= band.model.clip ? 0.0 : s.weight;
    for (Eigen::Index k = 0; k + 1 < m; ++k) {
      const ProfilePart& part = parts[static_cast<std::size_t>(k)];
      const PartResponse r = part_response(part, s.t_px - at_px[part.position], blur);
      design(i, k + 1) = r.value;
      slopes(i, part.position) = r.d_position;
    }
  }
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
    const double limit = kHuber * std::max(1.4826 * sizes[sizes.size() / 2], 1e-9);
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

std::vector<PairInformation> expanded(std::span<const PairBand> bands,
                                      std::span<const Eigen::Vector2d> at_mm, double blur_factor) {
  std::vector<Expansion> expansions(bands.size());
  cv::parallel_for_(cv::Range(0, static_cast<int>(bands.size())), [&](const cv::Range& range) {
    for (int i = range.start; i < range.end; ++i) {
      const auto k = static_cast<std::size_t>(i);
      const Eigen::Vector2d at_px =
          (at_mm[k].array() - bands[k].zero_mm).matrix() * bands[k].px_per_mm;
      expansions[k] = expand(bands[k], at_px, blur_factor);
    }
  });
  std::vector<Eigen::Vector2d> sigmas;
  const std::vector<Eigen::Vector2d> amplitudes = pooled(bands, expansions, sigmas);
  std::vector<PairInformation> out;
  for (std::size_t i = 0; i < bands.size(); ++i) {
    const Expansion& e = expansions[i];
    PairInformation info;
    info.s_mm = bands[i].s_mm;
    info.at_mm = at_mm[i];
    if (e.residuals.size() > 0 && e.variance > 0.0) {
      // d/dt: positions are in px, and an amplitude that is noise alone (below 2 sigma) says
      // nothing.
      Eigen::Vector2d a = amplitudes[i];
      for (int border = 0; border < 2; ++border) {
        const double z2 = sigmas[i][border] * sigmas[i][border];
        a[border] *= std::sqrt(std::max(0.0, 1.0 - 2.0 / std::max(z2, 1e-9)));
      }
      const Eigen::MatrixXd J = e.J * (a * bands[i].px_per_mm).asDiagonal();
      info.information = J.transpose() * e.weights.asDiagonal() * J / e.variance;
      info.gradient = J.transpose() * e.weights.cwiseProduct(e.residuals) / e.variance;
      info.contrast_sigmas = sigmas[i];
      info.residual =
          std::sqrt(e.variance / std::max(e.weights.mean(), 1e-9)) / std::max(e.largest, 1e-6);
    }
    out.push_back(info);
  }
  return out;
}

}  // namespace

/// Cubic B-splines on equal knots.
Eigen::RowVectorXd PairCurves::basis(double s_mm) const {
  Eigen::RowVectorXd row = Eigen::RowVectorXd::Zero(knots_);
  const double last = static_cast<double>(knots_ - 3);
  const double at = std::clamp((s_mm - first_mm_) / knot_mm_, 0.0, last - 1e-9);
  const auto whole = static_cast<Eigen::Index>(at);
  const double f = at - static_cast<double>(whole), g = 1.0 - f;
  row[whole] = g * g * g / 6.0;
  row[whole + 1] = (3.0 * f * f * f - 6.0 * f * f + 4.0) / 6.0;
  row[whole + 2] = (3.0 * g * g * g - 6.0 * g * g + 4.0) / 6.0;
  row[whole + 3] = f * f * f / 6.0;
  return row;
}

PairCurves::Place PairCurves::at(double s_mm) const {
  const Eigen::RowVectorXd row = basis(s_mm);
  const double middle = row.dot(coefficients_.head(knots_)),
               width = row.dot(coefficients_.tail(knots_));
  const double mm = row * covariance_.topLeftCorner(knots_, knots_) * row.transpose();
  const double ww = row * covariance_.bottomRightCorner(knots_, knots_) * row.transpose();
  const double mw = row * covariance_.topRightCorner(knots_, knots_) * row.transpose();
  const auto root = [](double v) { return std::sqrt(std::max(v, 0.0)); };
  return {.low_mm = middle - 0.5 * width,
          .high_mm = middle + 0.5 * width,
          .u_low_mm = root(mm + 0.25 * ww - mw),
          .u_high_mm = root(mm + 0.25 * ww + mw),
          .u_middle_mm = root(mm),
          .u_width_mm = root(ww)};
}

PairCurves fit_pair_curves(std::span<const PairInformation> bands) {
  PairCurves curves;
  const double length = std::max(bands.back().s_mm - bands.front().s_mm, 1.0);
  const auto spans = static_cast<Eigen::Index>(std::ceil(length / kKnotMm));
  curves.first_mm_ = bands.front().s_mm;
  curves.knot_mm_ = length / static_cast<double>(spans);
  curves.knots_ = spans + 3;
  const Eigen::Index n = curves.knots_;
  Eigen::Matrix2d to_borders;  // (low, high) from (middle, width).
  to_borders << 1.0, -0.5, 1.0, 0.5;

  std::vector<Eigen::RowVectorXd> rows;
  for (const PairInformation& band : bands) rows.push_back(curves.basis(band.s_mm));
  // Second differences of the coefficients: a walk of the slope.
  Eigen::MatrixXd walk = Eigen::MatrixXd::Zero(n, n);
  for (Eigen::Index i = 0; i + 2 < n; ++i) {
    Eigen::VectorXd d = Eigen::VectorXd::Zero(n);
    d[i] = 1.0;
    d[i + 1] = -2.0;
    d[i + 2] = 1.0;
    walk += d * d.transpose() / std::pow(curves.knot_mm_, 3);
  }
  std::vector<double> trust(bands.size(), 1.0);
  double phi = 1.0;
  for (int round = 0; round < 4; ++round) {
    Eigen::MatrixXd data = Eigen::MatrixXd::Zero(2 * n, 2 * n);
    Eigen::VectorXd right = Eigen::VectorXd::Zero(2 * n);
    for (std::size_t i = 0; i < bands.size(); ++i) {
      const Eigen::Matrix2d A =
          trust[i] * to_borders.transpose() * bands[i].information * to_borders;
      const Eigen::Vector2d b = trust[i] * to_borders.transpose() *
                                (bands[i].information * bands[i].at_mm + bands[i].gradient);
      for (Eigen::Index p = 0; p < n; ++p) {
        if (rows[i][p] == 0.0) continue;
        for (Eigen::Index q = 0; q < n; ++q) {
          const double w = rows[i][p] * rows[i][q];
          if (w == 0.0) continue;
          data(p, q) += w * A(0, 0);
          data(p, n + q) += w * A(0, 1);
          data(n + p, q) += w * A(1, 0);
          data(n + p, n + q) += w * A(1, 1);
        }
        right[p] += rows[i][p] * b[0];
        right[n + p] += rows[i][p] * b[1];
      }
    }
    // The stiffness that makes the bands likeliest.
    double least = std::numeric_limits<double>::infinity();
    Eigen::MatrixXd best;
    for (double middle = kStiffest; middle <= 1.01 * kSoftestMiddle; middle *= 4.0) {
      for (double width = kStiffest; width <= 1.01 * kSoftestWidth; width *= 6.0) {
        Eigen::MatrixXd all = data / phi;
        all.topLeftCorner(n, n) += walk / middle;
        all.bottomRightCorner(n, n) += walk / width;
        all.diagonal().array() += 1e-6;  // A level and a slope far wider than any blade.
        const Eigen::LLT<Eigen::MatrixXd> solver(all);
        if (solver.info() != Eigen::Success) continue;
        const Eigen::VectorXd x = solver.solve(right / phi);
        const double log_determinant =
            2.0 * solver.matrixL().toDenseMatrix().diagonal().array().log().sum();
        const double deviance = log_determinant +
                                static_cast<double>(n - 2) * (std::log(middle) + std::log(width)) -
                                (right / phi).dot(x);
        if (deviance >= least) continue;
        least = deviance;
        best = all;
        curves.coefficients_ = x;
      }
    }
    if (best.size() == 0) break;
    curves.covariance_ = best.llt().solve(Eigen::MatrixXd::Identity(2 * n, 2 * n));
    // Scatter beyond noise, and bands that a speck or a scratch has spoilt.
    double sum = 0.0, count = 0.0;
    for (std::size_t i = 0; i < bands.size(); ++i) {
      const PairCurves::Place place = curves.at(bands[i].s_mm);
      const Eigen::Vector2d off = Eigen::Vector2d(place.low_mm, place.high_mm) - bands[i].at_mm;
      const Eigen::Vector2d pull = bands[i].information * off - bands[i].gradient;
      const Eigen::Matrix2d safe =
          bands[i].information +
          1e-3 * (bands[i].information.trace() + 1e-9) * Eigen::Matrix2d::Identity();
      const double square = pull.dot(safe.inverse() * pull) / phi;
      trust[i] = square > 9.0 ? std::sqrt(9.0 / square) : 1.0;
      sum += std::min(square, 9.0) * phi;
      count += 1.0;
    }
    phi = std::max(1.0, sum / std::max(2.0 * count - 12.0, count));
  }
  curves.scale_ = std::sqrt(phi);
  return curves;
}

std::vector<PairInformation> pair_information(std::span<const PairBand> bands,
                                              std::span<const Eigen::Vector2d> start_mm) {
  std::vector<Eigen::Vector2d> at(start_mm.begin(), start_mm.end());
  std::vector<PairInformation> information;
  // From start places a px or two off; never so far at once that the borders change places.
  constexpr double kMostMovePx = 0.8;
  for (const double blur_factor : {1.8, 1.4, 1.0, 1.0, 1.0}) {
    information = expanded(bands, at, blur_factor);
    if (bands.size() < 4) return information;
    const PairCurves curves = fit_pair_curves(information);
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
