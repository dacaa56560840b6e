#include "card_sharpening.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

#include "evenbevel/fit.hpp"

namespace evenbevel::choil {
namespace {

/// The printed border through a point of the plane, which runs down the page.
std::optional<Sharpening> sharpening_at(const cv::Mat& pixels, const SectionPlane& plane,
                                        const Eigen::Vector2d& p_mm) {
  constexpr double kReachMm = 1.0, kHalfWidthMm = 0.4;
  constexpr double kLeastContrast = 0.04, kUsualBlurPx = 1.2;
  const double ppm = plane.px_per_mm(p_mm);
  const Eigen::Vector2d q = plane.pixel(p_mm);
  const int reach = static_cast<int>(1.5 * kReachMm * ppm);
  const cv::Rect about(static_cast<int>(q.x()) - reach, static_cast<int>(q.y()) - reach,
                       2 * reach + 1, 2 * reach + 1);
  if ((about & cv::Rect({}, pixels.size())) != about) return std::nullopt;
  const Patch patch = light_patch(pixels, about);
  const std::vector<ProfileSample> samples = band_profile(
      patch, plane,
      {.middle_mm = p_mm, .half_width_mm = kHalfWidthMm, .low_mm = -kReachMm, .high_mm = kReachMm},
      ppm);
  const ProfileFit fit = fit_profile(samples, {.positions_px = {0.0},
                                               .parts = {{.shape = ProfilePart::Shape::step}},
                                               .blur_px = kUsualBlurPx,
                                               .blur_is_free = true,
                                               .clip = patch.clip});
  if (!fit.converged || std::abs(fit.model.parts[0].amplitude) < kLeastContrast)
    return std::nullopt;
  return sharpening_of(samples, fit.model.positions_px[0], fit.model.blur_px, patch.clip);
}

}  // namespace

Sharpening card_sharpening(const cv::Mat& pixels, const SectionPlane& plane,
                           const PrintScale& print) {
  constexpr std::size_t kEnough = 4;
  constexpr double kBelowRowMm = 0.65;  // Inside the white rim between cell and marker.
  const CardLayout& layout = card_layout(CardKind::heel);
  std::vector<double> amounts, radii_px;
  for (int row = 1; row < layout.rows; row += 2) {
    for (int column = 1; column < layout.columns; ++column) {
      // The cut-out's own rims are not printed.
      if (layout.in_lane({column - 1, row}) || layout.in_lane({column, row})) continue;
      const Eigen::Vector2d corner = layout.cell_top_left_mm({column, row});
      const Eigen::Vector2d p(corner.x() * print.along, (kBelowRowMm - corner.y()) * print.across);
      const auto mask = sharpening_at(pixels, plane, p);
      if (!mask) continue;
      amounts.push_back(mask->amount);
      radii_px.push_back(mask->radius_px);
    }
  }
  if (amounts.size() < kEnough) return {};
  return {std::max(median(amounts), 0.0), median(radii_px)};
}

}  // namespace evenbevel::choil
