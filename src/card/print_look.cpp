#include "print_look.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

#include <Eigen/LU>
#include <opencv2/imgproc.hpp>

#include "border/profile_bins.hpp"
#include "evenbevel/fit.hpp"

namespace evenbevel {
namespace {

constexpr double kProfileReachMm = 1.0;

/// Borders that run up the page, at places inside the white rim between cell and marker.
std::vector<Eigen::Vector2d> places_on_borders(CardKind kind, const PrintScale& print) {
  constexpr double kBelowRow = 0.065;  // Of the pitch.
  constexpr std::size_t kMostPlaces = 24;
  const CardLayout& layout = card_layout(kind);
  std::vector<Eigen::Vector2d> all, places;
  for (int row = 0; row < layout.rows; ++row) {
    for (int column = 1; column < layout.columns; ++column) {
      // A cut-out's own rims are not printed.
      if (layout.in_lane({column - 1, row}) || layout.in_lane({column, row})) continue;
      const Eigen::Vector2d corner = layout.cell_top_left_mm({column, row});
      all.emplace_back(corner.x() * print.along,
                       (corner.y() - kBelowRow * layout.pitch_mm) * print.across);
    }
  }
  const std::size_t stride = (all.size() + kMostPlaces - 1) / kMostPlaces;
  for (std::size_t i = 0; i < all.size(); i += std::max<std::size_t>(stride, 1)) {
    places.push_back(all[i]);
  }
  return places;
}

/// Reads a picture along the card's x.
class PrintReader {
 public:
  PrintReader(const cv::Mat& pixels, const CameraModel& camera,
              const Transform<Camera, Card>& T_camera_card)
      : pixels_(pixels), camera_(camera), T_camera_card_(T_camera_card) {}

  std::optional<PrintedBorder> border_at(const Eigen::Vector2d& p_mm,
                                         const Sharpening& sharpening) const {
    std::vector<ProfileSample> samples = profile(p_mm, sharpening);
    if (samples.empty()) return std::nullopt;
    return printed_border(std::move(samples), linear_light(kClipEncoded));
  }

 private:
  Eigen::Vector2d pixel(const Eigen::Vector2d& p_mm) const {
    return project(camera_, T_camera_card_ * Point<Card>{{p_mm.x(), p_mm.y(), 0.0}});
  }

  std::vector<ProfileSample> profile(const Eigen::Vector2d& p_mm,
                                     const Sharpening& sharpening) const {
    constexpr double kHalfWidthMm = 0.4;
    const Eigen::Vector2d q = pixel(p_mm), x(0.5, 0.0), y(0.0, 0.5);
    Eigen::Matrix2d px_of_mm;
    px_of_mm << pixel(p_mm + x) - pixel(p_mm - x), pixel(p_mm + y) - pixel(p_mm - y);
    const double ppm = px_of_mm.col(0).norm();
    const int reach = static_cast<int>(1.5 * kProfileReachMm * ppm);
    const cv::Rect about(static_cast<int>(q.x()) - reach, static_cast<int>(q.y()) - reach,
                         2 * reach + 1, 2 * reach + 1);
    if (reach < 4 || (about & cv::Rect({}, pixels_.size())) != about) return {};
    cv::Mat grey = pixels_(about);
    if (grey.channels() == 3) cv::cvtColor(pixels_(about), grey, cv::COLOR_BGR2GRAY);
    if (sharpening.moves_borders()) grey = unsharpened(grey, sharpening, 255.0 * kClipEncoded);
    const cv::Mat light = linear_light(grey);
    const Eigen::Matrix2d mm_of_px = px_of_mm.inverse();
    ProfileBins bins(-kProfileReachMm, kProfileReachMm, ppm);
    for (int row = 0; row < light.rows; ++row) {
      for (int column = 0; column < light.cols; ++column) {
        const Eigen::Vector2d off =
            mm_of_px * (Eigen::Vector2d(about.x + column, about.y + row) - q);
        if (std::abs(off.y()) <= kHalfWidthMm) bins.add(off.x(), light.at<float>(row, column));
      }
    }
    return bins.samples();
  }

  const cv::Mat& pixels_;
  const CameraModel& camera_;
  const Transform<Camera, Card>& T_camera_card_;
};

}  // namespace

PrintLook print_look(const cv::Mat& pixels, const CameraModel& camera,
                     const Transform<Camera, Card>& T_camera_card, CardKind kind,
                     const PrintScale& print) {
  constexpr std::size_t kEnoughBorders = 4;
  const PrintReader reader(pixels, camera, T_camera_card);
  const std::vector<Eigen::Vector2d> places = places_on_borders(kind, print);
  std::vector<PrintedBorder> as_printed;
  for (const Eigen::Vector2d& p : places) {
    if (auto border = reader.border_at(p, {})) as_printed.push_back(std::move(*border));
  }
  PrintLook look;
  const auto sharpening = sharpening_of(as_printed, linear_light(kClipEncoded));
  if (!sharpening) return look;
  look.sharpening = *sharpening;
  std::vector<double> blurs_px;
  for (const Eigen::Vector2d& p : places) {
    if (const auto plain = reader.border_at(p, look.sharpening))
      blurs_px.push_back(plain->step.blur_px);
  }
  if (blurs_px.size() >= kEnoughBorders) look.blur_px = median(blurs_px);
  return look;
}

}  // namespace evenbevel
