#pragma once

#include <optional>
#include <vector>

#include "evenbevel/trace.hpp"
#include "readings.hpp"

namespace evenbevel::edge {

// Two lines, or a land's two borders, as one model of a profile.

using Samples = std::vector<ProfileSample>;

inline constexpr double kInnerMarginPx = 4.5;  ///< Of the window beyond either border.

Samples window(const Samples& samples, double low_px, double high_px);

ProfileModel inner_model(double low_px, double high_px, const ReadingPlan& plan, double px_per_mm,
                         double blur_px, double clip);

/// Where the blur starts, and how far it may go; one value: held there.
struct BlurRange {
  double start_px, least_px, most_px;
};

inline BlurRange held(double blur_px) { return {blur_px, blur_px, blur_px}; }

/// Empty: no fit, or one that has wandered off to something else.
std::optional<ProfileFit> fit_inner(const Samples& samples, double low_px, double high_px,
                                    const ReadingPlan& plan, double px_per_mm, BlurRange blur,
                                    double clip);

}  // namespace evenbevel::edge
