#pragma once

#include <optional>

#include <Eigen/Core>

#include "evenbevel/choil_view.hpp"

namespace evenbevel {

/// The section's own coordinates in its photo, in photo px, for display: across to the knife's
/// right and along the axis from the edge toward the spine. Drawn with the edge down, that is the
/// photo turned, never mirrored, and left is at the left.
class SectionMap {
 public:
  /// Empty when no outline was seen.
  static std::optional<SectionMap> of(const ChoilResult& result, const Photo& photo);

  Eigen::Vector2d section_of(const Eigen::Vector2d& stored_px) const {
    return turn_ * (stored_px - edge_px_);
  }
  Eigen::Vector2d stored_of(const Eigen::Vector2d& section_px) const {
    return edge_px_ + turn_.transpose() * section_px;
  }
  double deepest_px() const { return deepest_px_; }
  double widest_px() const { return widest_px_; }  ///< From the axis.

 private:
  Eigen::Matrix2d turn_ = Eigen::Matrix2d::Identity();
  Eigen::Vector2d edge_px_ = Eigen::Vector2d::Zero();
  double deepest_px_ = 0.0, widest_px_ = 0.0;
};

}  // namespace evenbevel
