#include "card_look.hpp"

#include <algorithm>
#include <vector>

#include "evenbevel/card.hpp"
#include "evenbevel/fit.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel::edge {

std::optional<CardLook> card_look(const LaneImage& image, const StripFrame& frame_on_card) {
  constexpr double kBesideLaneMm = 0.65;  // Inside the white rim between cell and marker.
  constexpr double kReachMm = 1.0;
  constexpr double kLeastContrast = 0.04;
  const CardLayout& layout = card_layout(CardKind::edge);
  const Eigen::AlignedBox2d lane = layout.lane_mm();
  // Turned a quarter: s runs up the page, t along the lane.
  const StripFrame frame = frame_on_card.turned(0.5 * kPi);
  std::vector<double> blurs, blacks, whites;
  const cv::Rect inside(image.origin_px, image.linear.size());
  for (int column = 1; column < layout.columns; ++column) {
    const double x = lane.min().x() + column * layout.pitch_mm;
    for (const double y : {lane.max().y() + kBesideLaneMm, lane.min().y() - kBesideLaneMm}) {
      const Eigen::Vector2d q = frame.pixel(y, x);
      if (!inside.contains(cv::Point(static_cast<int>(q.x()), static_cast<int>(q.y())))) continue;
      const double px_per_mm = frame.px_per_mm_across(y, x);
      const std::vector<ProfileSample> samples = band_profile(image, frame,
                                                              {.s_mm = y,
                                                               .t_mid_mm = x,
                                                               .half_length_mm = 0.4,
                                                               .t_low_mm = -kReachMm,
                                                               .t_high_mm = kReachMm},
                                                              px_per_mm);
      const ProfileFit fit = fit_step(samples, 0.0, 1.2);
      if (!fit.converged) continue;
      const double first = fit.model.background, second = first + fit.model.parts[0].amplitude;
      if (std::abs(second - first) < kLeastContrast) continue;
      blurs.push_back(fit.model.blur_px);
      blacks.push_back(std::min(first, second));
      whites.push_back(std::max(first, second));
    }
  }
  if (blurs.size() < 4) return std::nullopt;
  return CardLook{median(blurs), median(blacks), median(whites), static_cast<int>(blurs.size())};
}

}  // namespace evenbevel::edge
