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

}  // namespace evenbevel
