// What is typed for a length or an angle.

#include <cmath>

#include "evenbevel/units.hpp"
#include "fuzz.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace evenbevel;
  const std::string text = fuzz::text_of(data, size);
  for (const LengthUnit bare : {LengthUnit::mm, LengthUnit::inch, LengthUnit::thou}) {
    const std::optional<double> mm = parse_length_mm(text, bare);
    if (!mm) continue;
    fuzz::require(std::isfinite(*mm), "a length that is no number");
    // A decimal more is rounded away than is shown; only lengths of the trade are shown in full.
    const std::optional<double> shown = parse_length_mm(format_length(*mm, LengthUnit::mm), bare);
    constexpr double kLongest_mm = 1e6, kRounded_mm = 0.001;
    if (std::abs(*mm) > kLongest_mm) continue;
    fuzz::require(shown && std::abs(*shown - *mm) <= kRounded_mm, "a length shown as another");
  }
  const std::optional<double> rad = parse_angle_rad(text);
  fuzz::require(!rad || std::isfinite(*rad), "an angle that is no number");
  return 0;
}
