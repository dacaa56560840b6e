#pragma once

#include "evenbevel/printed.hpp"
#include "evenbevel/uncertainty.hpp"

namespace evenbevel {

inline Printed printed_length(const Measured& mm, LengthUnit unit,
                              Sign sign = Sign::negative_only) {
  return printed_length(mm.value, U95(mm), unit, sign);
}

inline Printed printed_angle(const Measured& rad) {
  return printed_angle(degrees(rad.value), degrees(U95(rad)));
}

}  // namespace evenbevel
