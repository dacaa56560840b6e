#include "photo_lens.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include <Eigen/Core>

#include "fit/dense.hpp"
#include "fit/descent.hpp"

namespace evenbevel {
namespace {

constexpr int kPose = 6, kShape = SheetInputs::kBends;
constexpr int kMostUnknowns = kPose + SheetInputs::kMost;
constexpr double kRobust = 1.5;  // Standard deviations.
constexpr double kLeastMiss_px = 1e-4;

using Jacobian = Eigen::Matrix<double, 2, Eigen::Dynamic, Eigen::ColMajor, 2, kMostUnknowns>;

/// Everything but the pose in units of its prior.
struct State {
  Transform<Camera, Card> T;
  Eigen::VectorXd x;  ///< The pose's part stays 0.
};

class Problem {
 public:
  Problem(const CameraModel& file, const LensPrior& prior,
          const std::vector<CardSighting>& sightings)
      : file_(file),
        sightings_(sightings),
        inputs_{parameter_count(file)},
        root_(root_of(prior.lens)),
        u_stretch_(prior.stretch) {
    constexpr double kSagAt_mm = 100.0;
    u_shape_ = prior.sag_mm / (kSagAt_mm * kSagAt_mm);
  }

  State start(const Transform<Camera, Card>& T) const {
    return {.T = T, .x = Eigen::VectorXd::Zero(unknowns())};
  }

  CameraModel camera(const State& state) const {
    return moved_lens(file_, root_ * state.x.segment(kPose, inputs_.lens));
  }
  double stretch(const State& state) const {
    return u_stretch_ * state.x(kPose + inputs_.stretch());
  }

  Eigen::Vector3d bends(const State& state) const {
    return u_shape_ * state.x.segment<kShape>(kPose + inputs_.bends());
  }

  Point<Card> place(const State& state, const CardSighting& sighting) const {
    const Eigen::Vector3d& p = sighting.p_card.mm;
    const double half = 0.5 * stretch(state);
    return {{p.x() * (1.0 + half), p.y() * (1.0 - half), bend_terms(p).dot(bends(state))}};
  }

  Eigen::Matrix2Xd misses(const State& state) const {
    const CameraModel lens = camera(state);
    Eigen::Matrix2Xd out(2, static_cast<Eigen::Index>(sightings_.size()));
    for (std::size_t i = 0; i < sightings_.size(); ++i) {
      const Point<Camera> p = state.T * place(state, sightings_[i]);
      // Behind the camera nothing fits.
      out.col(static_cast<Eigen::Index>(i)) =
          p.mm.z() > 1.0 ? Eigen::Vector2d(sightings_[i].q_px - project(lens, p))
                         : Eigen::Vector2d::Constant(std::numeric_limits<double>::infinity());
    }
    return out;
  }

  double cost(const State& state, double scatter_px) const {
    const Eigen::Matrix2Xd all = misses(state);
    double sum = state.x.squaredNorm();
    for (Eigen::Index i = 0; i < all.cols(); ++i) {
      const double z = all.col(i).norm() / scatter_px;
      sum += z <= kRobust ? z * z : kRobust * (2.0 * z - kRobust);
    }
    return sum;
  }

  NormalSums linearised(const State& state, double scatter_px) const {
    NormalSums system(unknowns());
    const CameraModel lens = camera(state);
    Jacobian J_all(2, unknowns());
    for (const CardSighting& sighting : sightings_) {
      const Point<Card> p_card = place(state, sighting);
      Eigen::Matrix<double, 2, 3> d_point;
      LensJacobian d_lens;
      const Eigen::Vector2d miss =
          sighting.q_px - project(lens, state.T * p_card, &d_point, &d_lens);
      const Eigen::Matrix<double, 2, 3> d_card = d_point * state.T.matrix.linear();
      const Eigen::Vector3d& p = sighting.p_card.mm;
      J_all << pose_jacobian(state.T, p_card, d_point), d_lens * root_,
          0.5 * u_stretch_ * (d_card.col(0) * p.x() - d_card.col(1) * p.y()),
          u_shape_ * d_card.col(2) * bend_terms(p);
      const double z = miss.norm() / scatter_px;
      const double weight = (z <= kRobust ? 1.0 : kRobust / z) / (scatter_px * scatter_px);
      system.add(J_all, miss, weight);
    }
    system.A.diagonal().tail(inputs_.count()).array() += 1.0;
    system.b -= state.x;
    return system;
  }

  InputsMatrix covariance(const State& state, double scatter_px) const {
    const Eigen::MatrixXd inverse = SymmetricSystem(linearised(state, scatter_px).A).inverse();
    Eigen::MatrixXd to_inputs = Eigen::MatrixXd::Zero(inputs_.count(), inputs_.count());
    to_inputs.topLeftCorner(inputs_.lens, inputs_.lens) = root_;
    to_inputs(inputs_.stretch(), inputs_.stretch()) = u_stretch_;
    to_inputs.diagonal().tail<kShape>().array() = u_shape_;
    return to_inputs * inverse.bottomRightCorner(inputs_.count(), inputs_.count()) *
           to_inputs.transpose();
  }

 private:
  int unknowns() const { return kPose + inputs_.count(); }

  const CameraModel& file_;
  const std::vector<CardSighting>& sightings_;
  SheetInputs inputs_;
  LensMatrix root_;
  double u_stretch_, u_shape_ = 0.0;
};

State minimise(const Problem& problem, State state, double scatter_px) {
  double best = problem.cost(state, scatter_px);
  NormalSums system = problem.linearised(state, scatter_px);
  const auto linearise = [&](int round) {
    if (round > 0) system = problem.linearised(state, scatter_px);
  };
  const auto attempt = [&](double damping) {
    Eigen::MatrixXd A = system.A;
    A.diagonal() *= 1.0 + damping;
    const Eigen::VectorXd move = solved(A, system.b);
    State candidate = state;
    candidate.T = stepped(state.T, move.head<kPose>());
    candidate.x.tail(move.size() - kPose) += move.tail(move.size() - kPose);
    const double now = problem.cost(candidate, scatter_px);
    if (!(now <= best)) return Tried::left;
    const bool settled = best - now <= 1e-10 * best;
    state = candidate;
    best = now;
    return settled ? Tried::settled : Tried::taken;
  };
  descend({.start = 1e-4, .eased = 0.1, .stiffened = 10.0, .most = 1e9, .steps = 40}, linearise,
          attempt);
  return state;
}

}  // namespace

Eigen::RowVector3d bend_terms(const Eigen::Vector3d& p_mm) {
  return {p_mm.x() * p_mm.x(), p_mm.x() * p_mm.y(), p_mm.y() * p_mm.y()};
}

std::vector<CardSighting> on_sheet(const std::vector<CardSighting>& sightings, const LensFit& fit) {
  std::vector<CardSighting> out = sightings;
  for (CardSighting& sighting : out) {
    Eigen::Vector3d& p = sighting.p_card.mm;
    p = {p.x() * (1.0 + 0.5 * fit.stretch), p.y() * (1.0 - 0.5 * fit.stretch),
         bend_terms(p).dot(fit.bends)};
  }
  return out;
}

LensFit fit_lens(const CameraModel& file, const LensPrior& prior,
                 const std::vector<CardSighting>& sightings,
                 const Transform<Camera, Card>& T_start) {
  constexpr int kRounds = 4;  // The scatter settles within two or three.
  const Problem problem(file, prior, sightings);
  State state = problem.start(T_start);
  double scatter = 0.0;
  for (int round = 0; round < kRounds; ++round) {
    scatter = std::max(scatter_px(problem.misses(state)), kLeastMiss_px);
    state = minimise(problem, state, scatter);
  }
  scatter = std::max(scatter_px(problem.misses(state)), kLeastMiss_px);
  LensFit fit{.camera = problem.camera(state),
              .T_camera_card = state.T,
              .stretch = problem.stretch(state),
              .bends = problem.bends(state),
              .covariance = problem.covariance(state, scatter),
              .scatter_px = scatter};
  const int lens = parameter_count(file);
  fit.camera.covariance = fit.covariance.topLeftCorner(lens, lens);
  return fit;
}

}  // namespace evenbevel
