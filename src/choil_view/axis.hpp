#pragma once

#include <optional>

#include <Eigen/Core>

#include "evenbevel/choil_view.hpp"
#include "outline.hpp"

namespace evenbevel::choil {

/// The line y = 0 of the section, in the plane.
struct SectionAxis {
  Eigen::Vector2d through_mm = Eigen::Vector2d::Zero();
  double lean_rad = 0.0;    ///< Against down; positive toward the left face.
  double u_place_mm = 0.0;  ///< Across, at `through_mm`; independent of u_lean_rad.
  double u_lean_rad = 0.0;
  AxisSource from = AxisSource::median_and_card;
  std::optional<Measured> stock_mm;               ///< Between the flats, location noise only.
  double flats_from_mm = 0.0, flats_to_mm = 0.0;  ///< Down.
  bool doubtful = false;                          ///< Median line and card's vertical disagree.

  Eigen::Vector2d direction() const;  ///< From the edge to the spine.
  Eigen::Vector2d across() const;     ///< Toward the left face.
};

SectionAxis find_axis(const Outline& outline);

}  // namespace evenbevel::choil
