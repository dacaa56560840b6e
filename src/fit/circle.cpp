#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <optional>

#include <Eigen/Dense>

#include "evenbevel/error.hpp"
#include "evenbevel/fit.hpp"
#include "fit/tukey.hpp"

namespace evenbevel {
namespace {

using Points = std::span<const Eigen::Vector2d>;

struct Circle {
  Eigen::Vector2d centre{};
  double radius = 0.0;

  double distance(const Eigen::Vector2d& p) const { return (p - centre).norm() - radius; }
};

[[noreturn]] void throw_straight() {
  throw Error("the points lie on a straight line and show no circle",
              "take the photo closer, so that the curve shows");
}

void require_circle(Points points) {
  if (points.size() >= 4) return;
  throw Error("a circle has " + std::to_string(points.size()) + " points, 4 are needed",
              "make more of the curve visible, then take the photo again");
}

/// Moves the points to their middle and makes their extent 1, so that arithmetic keeps its digits.
struct Normalised {
  Eigen::Vector2d middle{};
  double extent = 1.0;
  double round_off = 0.0;  ///< Scatter that the coordinates' last digits make.
  std::vector<Eigen::Vector2d> points;
};

Normalised normalised(Points points) {
  Normalised n;
  n.middle.setZero();
  for (const Eigen::Vector2d& p : points) n.middle += p / static_cast<double>(points.size());
  double largest = 0.0;
  for (const Eigen::Vector2d& p : points) largest = std::max(largest, (p - n.middle).norm());
  if (!(largest > 0.0)) throw_straight();
  n.extent = largest;
  n.round_off = 64.0 * std::numeric_limits<double>::epsilon() * (1.0 + n.middle.norm() / largest);
  for (const Eigen::Vector2d& p : points) n.points.emplace_back((p - n.middle) / largest);
  return n;
}

/// Linear fit of x^2 + y^2 = 2 a x + 2 b y + c (I. Kasa, IEEE Trans. Instrum. Meas. 25, 1976).
/// Empty for points on a straight line.
std::optional<Circle> linear_circle(Points points) {
  const auto n = static_cast<Eigen::Index>(points.size());
  Eigen::MatrixX3d design(n, 3);
  Eigen::VectorXd squares(n);
  for (Eigen::Index i = 0; i < n; ++i) {
    const Eigen::Vector2d& p = points[static_cast<std::size_t>(i)];
    design.row(i) << 2.0 * p.x(), 2.0 * p.y(), 1.0;
    squares(i) = p.squaredNorm();
  }
  Eigen::ColPivHouseholderQR<Eigen::MatrixX3d> qr(design);
  qr.setThreshold(1e-10);
  if (qr.rank() < 3) return std::nullopt;
  const Eigen::Vector3d abc = qr.solve(squares);
  const Eigen::Vector2d centre = abc.head<2>();
  const double radius2 = abc(2) + centre.squaredNorm();
  if (!(radius2 > 0.0)) return std::nullopt;
  return Circle{.centre = centre, .radius = std::sqrt(radius2)};
}

LeastSquaresFit geometric_fit(Points points, std::span<const double> weights, const Circle& start) {
  const ResidualFunction model = [&](const Eigen::VectorXd& circle, Eigen::VectorXd& residuals,
                                     Eigen::MatrixXd* jacobian) {
    for (std::size_t i = 0; i < points.size(); ++i) {
      const auto row = static_cast<Eigen::Index>(i);
      const Eigen::Vector2d from_centre = points[i] - circle.head<2>();
      const double distance = from_centre.norm();
      const double root_weight = std::sqrt(weights[i]);
      residuals(row) = root_weight * (distance - circle(2));
      if (jacobian == nullptr) continue;
      const Eigen::Vector2d outward = from_centre / std::max(distance, 1e-300);
      jacobian->row(row) << -root_weight * outward.x(), -root_weight * outward.y(), -root_weight;
    }
  };
  return least_squares(model, Eigen::Vector3d(start.centre.x(), start.centre.y(), start.radius),
                       static_cast<int>(points.size()), {.iterations = 500, .tolerance = 1e-13});
}

Circle circle_of(const LeastSquaresFit& fit) {
  return {.centre = fit.parameters.head<2>(), .radius = fit.parameters(2)};
}

/// Back from the normalised points.
CircleFit scaled_back(const Circle& circle, const Eigen::Matrix3d& covariance, double sigma,
                      const Normalised& n) {
  CircleFit fit;
  fit.centre = n.middle + n.extent * circle.centre;
  fit.radius = n.extent * circle.radius;
  fit.covariance = n.extent * n.extent * covariance;
  fit.sigma = n.extent * sigma;
  return fit;
}

/// The circle through three points whose median distance to a sample of the points is smallest.
Circle least_median_circle(Points points) {
  constexpr int kSample = 200, kTriples = 500;  // 30 % wild: 500 triples all fail once in 1e91
  std::vector<Eigen::Vector2d> sample;
  for (const int index : fit::spread_indices(static_cast<int>(points.size()), kSample)) {
    sample.push_back(points[static_cast<std::size_t>(index)]);
  }
  fit::SubsetPicker picker(static_cast<int>(sample.size()));
  std::optional<Circle> best;
  double best_median = std::numeric_limits<double>::infinity();
  std::vector<double> distances(sample.size());
  for (int triple = 0; triple < kTriples; ++triple) {
    std::array<Eigen::Vector2d, 3> three;
    for (Eigen::Vector2d& p : three) p = sample[static_cast<std::size_t>(picker.next())];
    const std::optional<Circle> circle = linear_circle(three);
    if (!circle) continue;
    std::transform(sample.begin(), sample.end(), distances.begin(),
                   [&](const Eigen::Vector2d& p) { return circle->distance(p); });
    const double scatter = mad_sigma(distances, 0.0);
    if (scatter < best_median) {
      best_median = scatter;
      best = circle;
    }
  }
  if (!best) throw_straight();
  return *best;
}

}  // namespace

CircleFit fit_circle(std::span<const Eigen::Vector2d> points) {
  require_circle(points);
  const Normalised n = normalised(points);
  const std::optional<Circle> start = linear_circle(n.points);
  if (!start) throw_straight();
  const std::vector<double> weights(points.size(), 1.0);
  const LeastSquaresFit geometric = geometric_fit(n.points, weights, *start);
  CircleFit fit = scaled_back(circle_of(geometric), geometric.covariance, geometric.sigma, n);
  fit.dof = geometric.dof;
  fit.used = static_cast<int>(points.size());
  fit.weights = weights;
  return fit;
}

CircleFit fit_circle_robust(std::span<const Eigen::Vector2d> points) {
  require_circle(points);
  const Normalised n = normalised(points);
  Circle circle = least_median_circle(n.points);
  std::vector<double> weights(points.size()), z(points.size());
  double sigma = 0.0;
  const auto weigh = [&](bool with_new_sigma) {
    std::transform(n.points.begin(), n.points.end(), z.begin(),
                   [&](const Eigen::Vector2d& p) { return circle.distance(p); });
    if (with_new_sigma) sigma = std::max(fit::residual_sigma(z, 3), n.round_off);
    for (double& zi : z) zi /= sigma;
    std::transform(z.begin(), z.end(), weights.begin(), fit::tukey_weight);
  };
  constexpr int kScaleRounds = 5, kRounds = 20;
  for (int round = 0; round < kRounds; ++round) {
    weigh(round < kScaleRounds);
    const Circle before = circle;
    circle = circle_of(geometric_fit(n.points, weights, circle));
    if (round > kScaleRounds && (circle.centre - before.centre).norm() < 1e-12) break;
  }
  weigh(false);
  std::vector<double> counted(weights.size());
  std::transform(weights.begin(), weights.end(), counted.begin(),
                 [](double weight) { return weight > 0.0 ? 1.0 : 0.0; });
  const double used = static_cast<double>(std::count(counted.begin(), counted.end(), 1.0));
  // The points that count, each as much as another: tukey_variance has the weights in it.
  Eigen::Matrix3d normal = Eigen::Matrix3d::Zero();
  for (std::size_t i = 0; i < counted.size(); ++i) {
    const Eigen::Vector2d outward = (n.points[i] - circle.centre).normalized();
    const Eigen::Vector3d row(outward.x(), outward.y(), 1.0);
    normal += counted[i] * row * row.transpose();
  }
  const double variance = sigma * sigma * fit::tukey_variance(z, 3);
  CircleFit fit = scaled_back(circle, variance * normal.inverse(), sigma, n);
  fit.used = static_cast<int>(used);
  fit.dof = std::max(1.0, used - 3.0);
  fit.weights = weights;
  return fit;
}

}  // namespace evenbevel
