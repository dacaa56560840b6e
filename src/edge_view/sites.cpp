#include "sites.hpp"

#include <algorithm>
#include <cmath>

#include "long_borders.hpp"

namespace evenbevel::edge {

Site site_of(const LaneImage& image, const Located& place, const std::pair<double, double>& stretch,
             double thickness_mm) {
  const StripLine middle = place.flats.middle();
  const double s = 0.5 * (stretch.first + stretch.second);
  const double reach = 0.5 * thickness_mm + kReachMm;
  const StripRange range{stretch.first, stretch.second, middle.t_mm(s) - reach,
                         middle.t_mm(s) + reach};
  CoarseStrip flats = fine_strip(image, &LaneImage::flats, place.frame, range, place.px_per_mm);
  CoarseStrip grey = image.dyed()
                         ? fine_strip(image, &LaneImage::grey, place.frame, range, place.px_per_mm)
                         : flats;
  return {place, middle, std::move(flats), std::move(grey)};
}

std::vector<Site> sites_of(const LaneImage& image, const std::vector<Located>& places,
                           const std::pair<double, double>& stretch, double thickness_mm) {
  constexpr double kApart = 0.3, kTurn = 0.003;
  std::vector<Site> sites;
  for (const Located& place : places) {
    const StripLine middle = place.flats.middle();
    const double s = 0.5 * (stretch.first + stretch.second);
    const bool known = std::any_of(sites.begin(), sites.end(), [&](const Site& other) {
      return other.place.frame.direction_rad() == place.frame.direction_rad() &&
             std::abs(other.middle.t_mm(s) - middle.t_mm(s)) < kApart;
    });
    if (known || std::abs(middle.slope) > kTurn) continue;
    sites.push_back(site_of(image, place, stretch, thickness_mm));
  }
  return sites;
}

InnerSearch inner_search(const Site& site, double thickness_mm,
                         const std::pair<double, double>& stretch) {
  return {.mid = site.middle,
          .half_width_mm = 0.3 * thickness_mm,
          .border_limit_mm = 0.4 * thickness_mm,
          .gap_high_mm = std::min(1.2, 0.5 * thickness_mm),
          .s_low_mm = stretch.first,
          .s_high_mm = stretch.second};
}

}  // namespace evenbevel::edge
