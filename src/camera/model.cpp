#include <cassert>
#include <cmath>
#include <string>

#include "evenbevel/camera.hpp"
#include "evenbevel/error.hpp"

namespace evenbevel {

int parameter_count(const CameraModel& camera) { return kCoefficientsAt + camera.lens.size(); }

LensVector parameters(const CameraModel& camera) {
  LensVector values(parameter_count(camera));
  values << camera.focal_px, camera.centre_px, camera.lens.values();
  return values;
}

void set_parameters(CameraModel& camera, const LensVector& values) {
  camera.focal_px = values.segment<2>(kFocalAt);
  camera.centre_px = values.segment<2>(kCentreAt);
  for (int i = 0; i < camera.lens.size(); ++i) camera.lens[i] = values(kCoefficientsAt + i);
}

std::string parameter_name(const CameraModel& camera, int index) {
  const auto at = static_cast<std::size_t>(index);
  if (index < kCoefficientsAt) return std::string(kSensorParameters[at]);
  return std::string(camera.lens.model().coefficients()[at - kCoefficientsAt].name);
}

CameraModel moved_lens(const CameraModel& camera, const LensVector& change) {
  CameraModel out = camera;
  set_parameters(out, parameters(camera) + change);
  return out;
}

Eigen::Vector2d project(const CameraModel& camera, const Point<Camera>& p_camera) {
  const Eigen::Vector3d& p = p_camera.mm;
  assert(p.z() > 0.0);
  const Eigen::Vector2d straight = p.head<2>() / p.z();
  const Eigen::Vector2d bent = camera.lens.model().bend(camera.lens.values(), straight);
  return camera.focal_px.cwiseProduct(bent) + camera.centre_px;
}

Eigen::Vector2d project(const CameraModel& camera, const Point<Camera>& p_camera,
                        Eigen::Matrix<double, 2, 3>* d_point, LensJacobian* d_parameters) {
  const Eigen::Vector3d& p = p_camera.mm;
  assert(p.z() > 0.0);
  const Eigen::Vector2d straight = p.head<2>() / p.z();
  const LensModel::Bent bent =
      camera.lens.model().bend_with_derivatives(camera.lens.values(), straight);
  if (d_point != nullptr) {
    Eigen::Matrix<double, 2, 3> d_straight;
    d_straight << 1.0, 0.0, -straight.x(), 0.0, 1.0, -straight.y();
    *d_point = camera.focal_px.asDiagonal() * (bent.d_xy * d_straight) / p.z();
  }
  if (d_parameters != nullptr) {
    d_parameters->setZero(2, parameter_count(camera));
    d_parameters->block<2, 2>(0, kFocalAt) = bent.xy.asDiagonal();
    d_parameters->block<2, 2>(0, kCentreAt).setIdentity();
    d_parameters->rightCols(camera.lens.size()) =
        camera.focal_px.asDiagonal() * bent.d_coefficients;
  }
  return camera.focal_px.cwiseProduct(bent.xy) + camera.centre_px;
}

Eigen::Vector2d on_unbent_plane(const CameraModel& camera, const Eigen::Vector2d& q_px) {
  return (q_px - camera.centre_px).cwiseQuotient(camera.focal_px);
}

Eigen::Vector3d ray(const CameraModel& camera, const Eigen::Vector2d& q_px) {
  const std::optional<Eigen::Vector2d> straight =
      camera.lens.model().straighten(camera.lens.values(), on_unbent_plane(camera, q_px));
  if (!straight) {
    throw Error("the lens model cannot be undone at pixel (" +
                    std::to_string(std::lround(q_px.x())) + ", " +
                    std::to_string(std::lround(q_px.y())) + ")",
                "calibrate again, with the card also in the corners of the picture");
  }
  return straight->homogeneous();
}

}  // namespace evenbevel
