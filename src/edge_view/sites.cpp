#include "sites.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <optional>

#include <opencv2/core/utility.hpp>

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
  const double s = 0.5 * (stretch.first + stretch.second);
  std::vector<const Located*> apart;
  for (const Located& place : places) {
    const StripLine middle = place.flats.middle();
    const bool known = std::any_of(apart.begin(), apart.end(), [&](const Located* other) {
      return other->frame.direction_rad() == place.frame.direction_rad() &&
             std::abs(other->flats.middle().t_mm(s) - middle.t_mm(s)) < kApart;
    });
    if (!known && std::abs(middle.slope) <= kTurn) apart.push_back(&place);
  }
  std::vector<std::optional<Site>> read(apart.size());
  cv::parallel_for_(cv::Range(0, static_cast<int>(apart.size())), [&](const cv::Range& range) {
    for (int i = range.start; i < range.end; ++i) {
      const auto at = static_cast<std::size_t>(i);
      read[at] = site_of(image, *apart[at], stretch, thickness_mm);
    }
  });
  std::vector<Site> sites;
  for (std::optional<Site>& site : read) sites.push_back(std::move(*site));
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
