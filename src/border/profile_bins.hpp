#pragma once

#include <algorithm>
#include <vector>

#include "evenbevel/trace.hpp"

namespace evenbevel {

/// Gathers a band's pixels into a profile, four bins a pixel, each placed where its pixels' mean
/// is.
class ProfileBins {
 public:
  ProfileBins(double low_mm, double high_mm, double px_per_mm)
      : low_mm_(low_mm),
        px_per_mm_(px_per_mm),
        bins_per_mm_(px_per_mm * kPerPx),
        bins_(static_cast<std::size_t>(
            std::max(static_cast<int>((high_mm - low_mm) * bins_per_mm_) + 1, 1))) {}

  /// Outside the band: left out.
  void add(double t_mm, float value) {
    const double at = (t_mm - low_mm_) * bins_per_mm_;
    if (at < 0 || at >= static_cast<double>(bins_.size())) return;
    Bin& bin = bins_[static_cast<std::size_t>(at)];
    bin.count += 1;
    bin.t_mm += t_mm;
    bin.value += static_cast<double>(value);
  }

  std::vector<ProfileSample> samples() const {
    std::vector<ProfileSample> out;
    out.reserve(bins_.size());
    for (const Bin& bin : bins_) {
      if (bin.count == 0) continue;
      out.push_back({bin.t_mm / bin.count * px_per_mm_, bin.value / bin.count, bin.count});
    }
    return out;
  }

 private:
  static constexpr double kPerPx = 4.0;
  struct Bin {
    double count = 0, t_mm = 0, value = 0;
  };
  double low_mm_, px_per_mm_, bins_per_mm_;
  std::vector<Bin> bins_;
};

}  // namespace evenbevel
