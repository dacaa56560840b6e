#pragma once

#include <Eigen/Geometry>

namespace evenbevel {

// Frames are tags: a point or a transform says in its type where it belongs. Lengths in mm.

struct Camera {};  ///< x right, y down, z forward; origin at the projection centre.
struct Card {};    ///< x right, y up the page, z toward the reader; origin at the grid's centre.
struct Blade {};   ///< x to the tip, y to the left face, z from the edge up to the spine.

template <class Frame>
struct Point {
  Eigen::Vector3d mm = Eigen::Vector3d::Zero();
};

/// T_to_from maps the coordinates of a point in From to those of the same point in To.
template <class To, class From>
struct Transform {
  Eigen::Isometry3d matrix = Eigen::Isometry3d::Identity();

  Transform<From, To> inverse() const { return {matrix.inverse()}; }
};

template <class To, class From>
Point<To> operator*(const Transform<To, From>& T_to_from, const Point<From>& p_from) {
  return {T_to_from.matrix * p_from.mm};
}

template <class To, class Mid, class From>
Transform<To, From> operator*(const Transform<To, Mid>& T_to_mid,
                              const Transform<Mid, From>& T_mid_from) {
  return {T_to_mid.matrix * T_mid_from.matrix};
}

/// cross_matrix(v) * w = v x w.
inline Eigen::Matrix3d cross_matrix(const Eigen::Vector3d& v) {
  Eigen::Matrix3d m;
  m << 0.0, -v.z(), v.y(), v.z(), 0.0, -v.x(), -v.y(), v.x(), 0.0;
  return m;
}

/// Rotation about a vector, by its length (rad): Rodrigues' formula.
inline Eigen::Matrix3d turn_by(const Eigen::Vector3d& rotation_vector) {
  const double angle_rad = rotation_vector.norm();
  if (!(angle_rad > 0.0)) return Eigen::Matrix3d::Identity();
  return Eigen::AngleAxisd(angle_rad, rotation_vector / angle_rad).toRotationMatrix();
}

/// How a transform moves: a rotation vector w (rad), then a shift d (mm), both on the left, along
/// the axes of To. R becomes exp(w) R and t becomes t + d, so that From turns about its own origin.
/// Covariances of poses have this order.
using PoseStep = Eigen::Matrix<double, 6, 1>;

template <class To, class From>
Transform<To, From> stepped(const Transform<To, From>& T_to_from, const PoseStep& step) {
  Transform<To, From> out = T_to_from;
  out.matrix.linear() = turn_by(step.head<3>()) * T_to_from.matrix.linear();
  out.matrix.translation() += step.tail<3>();
  return out;
}

/// d (stepped(T, step) * p) / d step, at no step.
template <class To, class From>
Eigen::Matrix<double, 3, 6> point_by_step(const Transform<To, From>& T_to_from,
                                          const Point<From>& p_from) {
  Eigen::Matrix<double, 3, 6> d_step;
  d_step << -cross_matrix(T_to_from.matrix.linear() * p_from.mm), Eigen::Matrix3d::Identity();
  return d_step;
}

/// Where To's origin lies in From, by the step: of a card's pose, the camera's place over the card.
template <class To, class From>
Eigen::Matrix<double, 3, 6> origin_by_step(const Transform<To, From>& T_to_from) {
  const Eigen::Matrix3d R_from_to = T_to_from.matrix.linear().transpose();
  Eigen::Matrix<double, 3, 6> d_step;
  d_step << -R_from_to * cross_matrix(T_to_from.matrix.translation()), -R_from_to;
  return d_step;
}

/// The step of a turn about another point than From's origin, by the turn's rotation vector: that
/// point stays where it is.
template <class To, class From>
Eigen::Matrix<double, 6, 3> step_by_turn_about(const Transform<To, From>& T_to_from,
                                               const Point<From>& p_from) {
  Eigen::Matrix<double, 6, 3> d_turn;
  d_turn << Eigen::Matrix3d::Identity(), cross_matrix(T_to_from.matrix.linear() * p_from.mm);
  return d_turn;
}

}  // namespace evenbevel
