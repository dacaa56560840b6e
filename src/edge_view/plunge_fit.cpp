#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <utility>
#include <vector>

#include <Eigen/Cholesky>
#include <Eigen/LU>

#include "plunge_outline.hpp"
#include "uncertainty/neighbours.hpp"

namespace evenbevel::edge {
namespace {

using Unknowns = Eigen::Matrix<double, 5, 1>;  // half, ln radius, depth, ln blur, lean.
using Square = Eigen::Matrix<double, 5, 5>;

// Steps for differences, each about what the photo resolves.
const Unknowns kSteps = (Unknowns() << 0.02, 0.04, 0.01, 0.08, 0.02).finished();

PlungeOutline outline_of(const Unknowns& x) {
  const double depth = std::max(x[2], 0.05);
  constexpr double kSteepest = 1.02;  // The arc's radius over the depth: hardly an upright wall.
  return {x[0], std::max(std::exp(x[1]), kSteepest * depth), depth, std::exp(x[3]), x[4]};
}

/// The samples' noise hangs together from pixel to pixel: by that much they count for less.
double shared_noise(const PlungeGrid& residuals) {
  constexpr double kMost = 0.8;
  const Eigen::Index rows = residuals.rows() - 1, columns = residuals.cols() - 1;
  const double own = residuals.squaredNorm();
  const double along = residuals.leftCols(columns).cwiseProduct(residuals.rightCols(columns)).sum();
  const double across = residuals.topRows(rows).cwiseProduct(residuals.bottomRows(rows)).sum();
  return neighbours_inflation(own, along, kMost) * neighbours_inflation(own, across, kMost);
}

/// Minus log posterior of an outline.
class Posterior {
 public:
  Posterior(const PlungePatch& patch, const OutlinePrior& prior, double shared)
      : patch_(patch), shared_(shared) {
    mean_ << 0.0, std::log(prior.radius_mm), prior.depth_mm, std::log(prior.blur_mm), prior.lean;
    const auto weight = [](double u) { return 1.0 / (u * u); };
    weights_ << 0.0, weight(prior.ln_radius_u), weight(prior.depth_u_mm), weight(prior.ln_blur_u),
        weight(prior.lean_u);
  }

  PlungeGrid loss(const Unknowns& x) const {
    return plunge_misfit(patch_, outline_of(x)).loss / shared_;
  }
  double operator()(const Unknowns& x) const {
    const Unknowns off = x - mean_;
    return plunge_loss(patch_, outline_of(x)) / shared_ + 0.5 * off.dot(weights_.cwiseProduct(off));
  }
  Square prior_information() const { return weights_.asDiagonal(); }

 private:
  const PlungePatch& patch_;
  double shared_;
  Unknowns mean_, weights_;
};

/// Nelder and Mead, Computer Journal 7 (1965), 308-313.
Unknowns minimise(const Posterior& posterior, const Unknowns& start) {
  constexpr int kMost = 160;
  constexpr std::size_t kCorners = 6;
  constexpr double kConverged = 1e-2;  // Of a log likelihood.
  std::array<std::pair<double, Unknowns>, kCorners> simplex;
  for (std::size_t i = 0; i < kCorners; ++i) {
    Unknowns x = start;
    if (i > 0)
      x[static_cast<Eigen::Index>(i) - 1] += 3.0 * kSteps[static_cast<Eigen::Index>(i) - 1];
    simplex[i] = {posterior(x), x};
  }
  const auto less = [](const auto& a, const auto& b) { return a.first < b.first; };
  for (int round = 0; round < kMost; ++round) {
    std::sort(simplex.begin(), simplex.end(), less);
    auto& worst = simplex.back();
    if (worst.first - simplex.front().first < kConverged) break;
    Unknowns middle = Unknowns::Zero();
    for (std::size_t i = 0; i + 1 < kCorners; ++i) middle += simplex[i].second / 5.0;
    const auto tried = [&](double by) {
      const Unknowns x = middle + by * (middle - worst.second);
      return std::pair<double, Unknowns>(posterior(x), x);
    };
    const auto reflected = tried(1.0);
    if (reflected.first < simplex.front().first) {
      const auto expanded = tried(2.0);
      worst = expanded.first < reflected.first ? expanded : reflected;
    } else if (reflected.first < simplex[kCorners - 2].first) {
      worst = reflected;
    } else {
      const auto contracted = tried(reflected.first < worst.first ? 0.5 : -0.5);
      if (contracted.first < std::min(worst.first, reflected.first)) {
        worst = contracted;
        continue;
      }
      for (std::size_t i = 1; i < kCorners; ++i) {
        simplex[i].second = 0.5 * (simplex[i].second + simplex[0].second);
        simplex[i].first = posterior(simplex[i].second);
      }
    }
  }
  return std::min_element(simplex.begin(), simplex.end(), less)->second;
}

Square curvature(const Posterior& posterior, const Unknowns& at) {
  const double middle = posterior(at);
  const auto moved = [&](Eigen::Index i, double by_i, Eigen::Index k, double by_k) {
    Unknowns x = at;
    x[i] += by_i * kSteps[i];
    x[k] += by_k * kSteps[k];
    return posterior(x);
  };
  Square out;
  for (Eigen::Index i = 0; i < 5; ++i) {
    out(i, i) = (moved(i, 1, i, 0) + moved(i, -1, i, 0) - 2.0 * middle) / (kSteps[i] * kSteps[i]);
    for (Eigen::Index k = 0; k < i; ++k) {
      const double mixed =
          moved(i, 1, k, 1) - moved(i, 1, k, -1) - moved(i, -1, k, 1) + moved(i, -1, k, -1);
      out(i, k) = out(k, i) = 0.25 * mixed / (kSteps[i] * kSteps[k]);
    }
  }
  return out;
}

/// Streaks and scratches are not pixel noise: whole rows, and whole stretches along the blade, pull
/// the outline together. The scatter of their pulls is what the photo itself says of it (sandwich
/// estimate: P. Huber, Fifth Berkeley Symposium 1 (1967), 221-233; in two ways at once: Cameron,
/// Gelbach and Miller, Journal of Business and Economic Statistics 29 (2011), 238-249, without
/// their third term, which would lessen it). Variance of the half's place.
double variance_of_half(const PlungePatch& patch, const Posterior& posterior, const Unknowns& at) {
  constexpr double kStretchMm = 0.4;
  constexpr int kRowsTogether = 3;
  const Eigen::FullPivLU<Square> lu(curvature(posterior, at));
  if (!lu.isInvertible()) return std::numeric_limits<double>::infinity();
  const Square inverse = lu.inverse();
  if (!(inverse(0, 0) > 0.0)) return std::numeric_limits<double>::infinity();
  Eigen::Matrix<double, Eigen::Dynamic, 5> of_rows, of_stretches;
  of_rows.setZero(patch.rows() / kRowsTogether + 1, 5);
  of_stretches.setZero(
      static_cast<Eigen::Index>((patch.a_end_mm - patch.a_begin_mm) / kStretchMm) + 2, 5);
  for (Eigen::Index i = 0; i < 5; ++i) {
    Unknowns ahead = at, behind = at;
    ahead[i] += kSteps[i], behind[i] -= kSteps[i];
    const PlungeGrid pulls = (posterior.loss(ahead) - posterior.loss(behind)) / (2.0 * kSteps[i]);
    for (int r = 0; r < patch.rows(); ++r) of_rows(r / kRowsTogether, i) += pulls.row(r).sum();
    for (int c = 0; c < patch.columns(); ++c) {
      const double a = patch.a_mm[static_cast<std::size_t>(c)];
      of_stretches(static_cast<Eigen::Index>((a - patch.a_begin_mm) / kStretchMm), i) +=
          pulls.col(c).sum();
    }
  }
  const auto variance = [&](const Eigen::Matrix<double, Eigen::Dynamic, 5>& sums) {
    const Square meat = sums.transpose() * sums;
    return (inverse * meat * inverse)(0, 0);
  };
  const double by_prior = (inverse * posterior.prior_information() * inverse)(0, 0);
  return variance(of_rows) + variance(of_stretches) + by_prior;
}

/// Every place in the patch, each with the radius that suits it best.
struct Survey {
  std::vector<std::pair<PlungeOutline, double>> places;  ///< With the loss.
  std::size_t best = 0;

  const PlungeOutline& best_outline() const { return places[best].first; }
};

Survey survey(const PlungePatch& patch, const OutlinePrior& prior) {
  constexpr double kStepMm = 0.2, kSpareMm = 1.5;
  constexpr double kOtherRadii[] = {0.75, 1.4};  // Of the usual one,
  constexpr double kNoChance = 40.0;  // tried unless a place is that far behind, log likelihood.
  const auto tried = [&](double half, double share) {
    Unknowns x;
    x << half, std::log(share * prior.radius_mm), prior.depth_mm, std::log(prior.blur_mm),
        prior.lean;
    const PlungeOutline outline = outline_of(x);
    return std::pair(outline, plunge_loss(patch, outline));
  };
  Survey out;
  double least = std::numeric_limits<double>::infinity();
  for (double half = patch.a_begin_mm + kSpareMm; half < patch.a_end_mm - kSpareMm;
       half += kStepMm) {
    out.places.push_back(tried(half, 1.0));
    least = std::min(least, out.places.back().second);
  }
  const double worth_it = least + kNoChance;
  for (std::size_t i = 0; i < out.places.size(); ++i) {
    auto& place = out.places[i];
    if (place.second < worth_it) {
      const double half = place.first.half_mm;
      for (const double share : kOtherRadii) {
        if (const auto other = tried(half, share); other.second < place.second) place = other;
      }
    }
    if (place.second < out.places[out.best].second) out.best = i;
  }
  return out;
}

double least_straight_loss(const PlungePatch& patch, const PlungeOutline& like) {
  constexpr double kStepMm = 0.5;
  double least = std::numeric_limits<double>::infinity();
  for (double cut = patch.a_begin_mm - 1.0; cut < patch.a_end_mm + 1.0; cut += kStepMm) {
    for (const double lean : {-0.2, 0.2})
      least = std::min(least, straight_loss(patch, like, cut, lean));
  }
  return least;
}

/// How far the other places, by how likely they are, widen the best one's variance.
double rivals_variance(const Survey& survey, double half_mm, double shared) {
  constexpr double kSamePlaceMm = 0.3;
  double sum = 0.0, weights = 1.0;
  const double least = survey.places[survey.best].second;
  for (const auto& [outline, loss] : survey.places) {
    const double off = outline.half_mm - half_mm;
    if (std::abs(off) < kSamePlaceMm) continue;
    const double likely = std::exp(-(loss - least) / shared);
    sum += likely * off * off;
    weights += likely;
  }
  return sum / weights;
}

/// A first look, at half the resolution along.
struct Glance {
  Survey all;
  double shared = 1.0;
  double log_odds = 0.0;
};

Glance glance(const PlungePatch& patch, const OutlinePrior& prior) {
  const PlungePatch coarse = patch.halved();
  Glance out{survey(coarse, prior)};
  const PlungeOutline& best = out.all.best_outline();
  out.shared = shared_noise(plunge_misfit(coarse, best).residuals);
  out.log_odds =
      (least_straight_loss(coarse, best) - out.all.places[out.all.best].second) / out.shared;
  return out;
}

}  // namespace

double outline_log_odds(const PlungePatch& patch, const OutlinePrior& prior) {
  return glance(patch, prior).log_odds;
}

OutlineFit fit_outline(const PlungePatch& patch, const OutlinePrior& prior) {
  constexpr double kFaceMm = 4.0, kFacetMm = 2.0;  // Of either side, beyond the arc.
  const Glance first = glance(patch, prior);
  const PlungeOutline& start = first.all.best_outline();
  const PlungePatch near = patch.between(start.start_mm() - kFaceMm, start.end_mm() + kFacetMm);
  const Posterior posterior(near, prior, shared_noise(plunge_misfit(near, start).residuals));
  Unknowns x;
  x << start.half_mm, std::log(start.radius_mm), start.depth_mm, std::log(start.blur_mm),
      start.lean;
  x = minimise(posterior, minimise(posterior, x));
  OutlineFit fit;
  fit.outline = outline_of(x);
  fit.u_half_mm = std::sqrt(variance_of_half(near, posterior, x) +
                            rivals_variance(first.all, fit.outline.half_mm, first.shared));
  fit.log_odds = first.log_odds;
  return fit;
}

}  // namespace evenbevel::edge
