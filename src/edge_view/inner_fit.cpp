#include "inner_fit.hpp"

#include <cmath>

namespace evenbevel::edge {

Samples window(const Samples& samples, double low_px, double high_px) {
  Samples part;
  for (const ProfileSample& s : samples) {
    if (s.t_px >= low_px && s.t_px <= high_px) part.push_back(s);
  }
  return part;
}

ProfileModel inner_model(double low_px, double high_px, const ReadingPlan& plan, double px_per_mm,
                         double blur_px, double clip) {
  using Shape = ProfilePart::Shape;
  if (plan.stage == Stage::scribed) {
    const double width = plan.line_width_mm * px_per_mm;
    return {.positions_px = {low_px, high_px},
            .parts = {{.shape = Shape::line, .position = 0, .width_px = width},
                      {.shape = Shape::line, .position = 1, .width_px = width}},
            .blur_px = blur_px,
            .clip = clip};
  }
  return {.positions_px = {low_px, high_px},
          .parts = {{.shape = Shape::step, .position = 0}, {.shape = Shape::step, .position = 1}},
          .blur_px = blur_px,
          .clip = clip};
}

std::optional<ProfileFit> fit_inner(const Samples& samples, double low_px, double high_px,
                                    const ReadingPlan& plan, double px_per_mm, BlurRange blur,
                                    double clip) {
  constexpr double kInnerStrayPx = 2.5;
  const Samples part = window(samples, low_px - kInnerMarginPx, high_px + kInnerMarginPx);
  ProfileModel start = inner_model(low_px, high_px, plan, px_per_mm, blur.start_px, clip);
  start.blur_is_free = blur.least_px < blur.most_px;
  start.least_blur_px = blur.least_px;
  start.most_blur_px = blur.most_px;
  ProfileFit fit = fit_profile(part, std::move(start));
  if (!fit.converged) return std::nullopt;
  const std::vector<double>& at = fit.model.positions_px;
  if (std::abs(at[0] - low_px) > kInnerStrayPx || std::abs(at[1] - high_px) > kInnerStrayPx ||
      at[1] - at[0] < 0.5) {
    return std::nullopt;
  }
  return fit;
}

}  // namespace evenbevel::edge
