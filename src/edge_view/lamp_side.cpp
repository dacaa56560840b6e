#include "lamp_side.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "evenbevel/fit.hpp"

namespace evenbevel::edge {
namespace {

/// Grey light beside the blade on one side: of the bright parts, so that a dark gap counts little.
double light_beside(const LaneImage& image, const StripFrame& frame, const FlatsPair& flats,
                    double px_per_mm, int side) {
  constexpr double kNearMm = 0.3, kFarMm = 3.5, kHalfLengthMm = 3.0, kStepMm = 12.0;
  constexpr double kBrightest = 0.2;  // Of the samples are brighter.
  std::vector<double> along;
  for (double s = flats.s_begin_mm + kHalfLengthMm; s < flats.s_end_mm; s += kStepMm) {
    const Band band{.s_mm = s,
                    .t_mid_mm = side > 0 ? flats.high.t_mm(s) : flats.low.t_mm(s),
                    .slope = side > 0 ? flats.high.slope : flats.low.slope,
                    .half_length_mm = kHalfLengthMm,
                    .t_low_mm = side > 0 ? kNearMm : -kFarMm,
                    .t_high_mm = side > 0 ? kFarMm : -kNearMm};
    std::vector<double> light;
    for (const ProfileSample& p : band_profile(image, &LaneImage::grey, frame, band, px_per_mm))
      light.push_back(p.value);
    if (light.empty()) continue;
    const auto at = light.begin() + static_cast<std::ptrdiff_t>((1.0 - kBrightest) *
                                                                static_cast<double>(light.size()));
    std::nth_element(light.begin(), at, light.end());
    along.push_back(*at);
  }
  return along.empty() ? 0.0 : median(along);
}

}  // namespace

double lamp_side(const LaneImage& image, const StripFrame& frame, const FlatsPair& flats,
                 double px_per_mm) {
  const double high = light_beside(image, frame, flats, px_per_mm, +1);
  const double low = light_beside(image, frame, flats, px_per_mm, -1);
  return (high - low) / std::max(high + low, 1e-6);
}

double groove_shift_mm(double lamp_side) { return 0.25 * kGrooveMm * lamp_side; }

double groove_u_mm(double lamp_side) {
  constexpr double kEvenU = 0.2, kOneSidedU = 0.5;  // Of the largest shift.
  return 0.25 * kGrooveMm * (kEvenU + kOneSidedU * std::abs(lamp_side));
}

}  // namespace evenbevel::edge
