#pragma once

#include <string>

#include "evenbevel/plan.hpp"

namespace evenbevel {

/// Every quantity, in the order in which they are listed.
std::vector<PlanQuantity> all_plan_quantities();

bool may_be_zero(PlanQuantity quantity);
/// The least and the largest that a quantity can be; mm or rad, both excluded but for a zero.
bool in_range(PlanQuantity quantity, double value);

/// "5.14 deg"; hundredths, as an angle gauge shows.
std::string format_angle(double angle_rad);

/// "bevel height 20.000 mm", "bevel angle 5.14 deg".
std::string with_value(PlanQuantity quantity, double value, LengthUnit unit);
InUnits with_value(PlanQuantity quantity, double value);

/// Whether sharpening changes any of the thicknesses behind the edge.
bool sharpening_shows(const Plan& plan);

/// "stock, land and bevel height".
std::string listed(const std::vector<std::string>& words);

/// "blade height, or bevel height and stock"
std::string any_of_these(const std::vector<std::vector<PlanQuantity>>& sets);

}  // namespace evenbevel
