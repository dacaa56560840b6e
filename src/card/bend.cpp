#include "bend.hpp"

#include <algorithm>
#include <cmath>

#include <Eigen/QR>

#include "evenbevel/error.hpp"
#include "fit/dense.hpp"
#include "pose_fit.hpp"

namespace evenbevel {
namespace {

constexpr int kPoseTerms = 6;
constexpr int kShapeTerms = 3;
constexpr int kMostSheetUnknowns = kPoseTerms + kShapeTerms + kMostLensParameters;

Eigen::RowVector3d shape_terms(const Eigen::Vector3d& p_mm) {
  return {p_mm.x() * p_mm.x(), p_mm.x() * p_mm.y(), p_mm.y() * p_mm.y()};
}

struct ShapeFit {
  Eigen::Vector3d abc = Eigen::Vector3d::Zero();
  Eigen::Matrix3d covariance = Eigen::Matrix3d::Zero();
};

using SheetJacobian =
    Eigen::Matrix<double, 2, Eigen::Dynamic, Eigen::ColMajor, 2, kMostSheetUnknowns>;

struct System {
  NormalSums sums;
  double scatter_px = 0.0;
};

System assemble(const CameraModel& camera, const std::vector<CardSighting>& sightings,
                const Transform<Camera, Card>& T) {
  constexpr double kHuber = 1.5;
  constexpr double kLeastScatter_px = 1e-6;
  const Eigen::Matrix2Xd misses = misses_px(camera, T, sightings);
  const int unknowns = kPoseTerms + kShapeTerms + parameter_count(camera);
  System system{.sums = NormalSums(unknowns),
                .scatter_px = std::max(scatter_px(misses), kLeastScatter_px)};
  SheetJacobian J_all(2, unknowns);
  for (std::size_t i = 0; i < sightings.size(); ++i) {
    Eigen::Matrix<double, 2, 3> d_point;
    LensJacobian d_camera;
    project(camera, T * sightings[i].p_card, &d_point, &d_camera);
    J_all << pose_jacobian(T, sightings[i].p_card, d_point),
        d_point * T.matrix.linear().col(2) * shape_terms(sightings[i].p_card.mm), d_camera;
    const Eigen::Vector2d miss = misses.col(static_cast<Eigen::Index>(i));
    const double limit_px = kHuber * system.scatter_px;
    const double weight = std::min(1.0, limit_px / std::max(miss.norm(), limit_px));
    system.sums.add(J_all, miss, weight);
  }
  return system;
}

// Camera unknowns are in their own standard deviations and directions (root of the covariance), so
// that the prior is a unit matrix and a covariance of less than full rank does no harm.
ShapeFit fit_shape(const CameraModel& camera, const std::vector<CardSighting>& sightings,
                   const Transform<Camera, Card>& T) {
  const System system = assemble(camera, sightings, T);
  const Eigen::Index unknowns = system.sums.b.size();
  const int of_camera = parameter_count(camera);
  Eigen::MatrixXd to_scaled = Eigen::MatrixXd::Identity(unknowns, unknowns);
  to_scaled.bottomRightCorner(of_camera, of_camera) = root_of(covariance_or_typical(camera));
  const double noise_px2 = system.scatter_px * system.scatter_px;
  Eigen::MatrixXd A = to_scaled.transpose() * system.sums.A * to_scaled / noise_px2;
  A.diagonal().tail(of_camera).array() += 1.0;
  const SymmetricSystem solver(A);
  const Eigen::VectorXd x = solver.solve(to_scaled.transpose() * system.sums.b / noise_px2);
  const Eigen::MatrixXd inverse = solver.inverse();
  return {x.segment<kShapeTerms>(kPoseTerms),
          inverse.block<kShapeTerms, kShapeTerms>(kPoseTerms, kPoseTerms)};
}

// Rows: the shape's heights at each sighting by (a, b, c), the best plane taken away.
Eigen::MatrixX3d heights(const std::vector<CardSighting>& sightings) {
  const auto count = static_cast<Eigen::Index>(sightings.size());
  Eigen::MatrixX3d plane(count, 3), shape(count, 3);
  for (Eigen::Index i = 0; i < count; ++i) {
    const Eigen::Vector3d& p_mm = sightings[static_cast<std::size_t>(i)].p_card.mm;
    plane.row(i) << 1.0, p_mm.x(), p_mm.y();
    shape.row(i) = shape_terms(p_mm);
  }
  const Eigen::MatrixX3d fitted = plane * plane.colPivHouseholderQr().solve(shape);
  return shape - fitted;
}

}  // namespace

Bend measure_bend(const CameraModel& camera, const std::vector<CardSighting>& sightings,
                  const Transform<Camera, Card>& T_camera_card) {
  const ShapeFit shape = fit_shape(camera, sightings, T_camera_card);
  const Eigen::MatrixX3d by_shape = heights(sightings);
  const Eigen::VectorXd z_mm = by_shape * shape.abc;
  Eigen::Index highest = 0, lowest = 0;
  Bend bend;
  bend.height_mm = z_mm.maxCoeff(&highest) - z_mm.minCoeff(&lowest);
  const Eigen::RowVector3d difference = by_shape.row(highest) - by_shape.row(lowest);
  bend.u_mm = std::sqrt(std::max(0.0, (difference * shape.covariance).dot(difference)));
  bend.middle_up = shape.abc.x() + shape.abc.z() < 0.0;
  return bend;
}

namespace {
constexpr double kMostBend_mm = 1.0;
}  // namespace

bool is_bent(const Bend& bend) {
  constexpr double kSureBend = 4.0;  // standard uncertainties
  return bend.height_mm >= kMostBend_mm && bend.height_mm >= kSureBend * bend.u_mm;
}

void require_flat(CardKind kind, const Bend& bend, std::size_t corners) {
  if (!is_bent(bend)) return;
  throw Error(card_name(kind) + " is bent: over the " + std::to_string(corners) +
                  " corners found " + (bend.middle_up ? "its middle" : "its rim") +
                  " stands up by " + length_words(bend.height_mm, 1) + ", " +
                  length_words(kMostBend_mm, 1) + " or less is needed",
              "glue the card on flat board and lay it flat, then take the photo again");
}

}  // namespace evenbevel
