#pragma once

#include <utility>
#include <vector>

#include "blade.hpp"
#include "inner.hpp"
#include "strip.hpp"

namespace evenbevel::edge {

inline constexpr double kReachMm = 1.4;  ///< Of a site's strips beyond the flats.

/// A place where the blade may lie, with everything needed to look there.
struct Site {
  Located place;
  StripLine middle;
  CoarseStrip flats, grey;  ///< Fine ones.
};

/// About the middle of the place's flats.
Site site_of(const LaneImage& image, const Located& place, const std::pair<double, double>& stretch,
             double thickness_mm);

/// One for all places that share a middle.
std::vector<Site> sites_of(const LaneImage& image, const std::vector<Located>& places,
                           const std::pair<double, double>& stretch, double thickness_mm);

/// What lies between the flats there.
InnerSearch inner_search(const Site& site, double thickness_mm,
                         const std::pair<double, double>& stretch);

}  // namespace evenbevel::edge
