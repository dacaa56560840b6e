#pragma once

#include <optional>
#include <span>

#include <Eigen/Core>

namespace evenbevel::choil {

/// Where the light along a line changes at once, far more than it strays on either side of there:
/// one surface ends and another begins. A lamp's image shades off, grain strays everywhere.
/// @param light     (mm, light), mm growing; what is blurred at its start left out.
/// @param clear_mm  So far to either side the change itself is blurred.
/// @param stray     Least that the light is taken to stray by.
/// @return  The plainest such place, mm. Empty: none stands out.
std::optional<double> light_step(std::span<const Eigen::Vector2d> light, double clear_mm,
                                 double stray);

}  // namespace evenbevel::choil
