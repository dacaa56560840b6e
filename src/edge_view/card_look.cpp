#include "card_look.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <vector>

#include <Eigen/QR>

#include "evenbevel/card.hpp"
#include "evenbevel/fit.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel::edge {
namespace {

constexpr double kReachMm = 1.0;

/// What a blurred step leaves unsaid of a border, to first order about its fit.
Spread spread_of(const std::vector<ProfileSample>& samples, const ProfileModel& border) {
  Eigen::MatrixXd design(static_cast<Eigen::Index>(samples.size()), 5);
  Eigen::VectorXd light(design.rows());
  const double blur = border.blur_px;
  for (Eigen::Index i = 0; i < design.rows(); ++i) {
    const ProfileSample& s = samples[static_cast<std::size_t>(i)];
    const double t = s.t_px - border.positions_px[0];
    const PartResponse step = part_response({.shape = ProfilePart::Shape::step}, t, blur);
    design.row(i) << 1.0, step.value, step.d_position, step.d_blur,
        step.value - blurred_step(t, kHaloReach * blur);
    light[i] = s.value;
    if (s.value >= border.clip) design.row(i).setZero(), light[i] = 0.0;
  }
  const Eigen::VectorXd levels = design.colPivHouseholderQr().solve(light);
  return {.blur_px = blur + levels[3] / levels[1], .halo = levels[4] / levels[1]};
}

struct PrintedBorders {
  std::vector<double> blurs, blacks, whites, core_blurs, halos;
  std::vector<PrintedBorder> all;

  /// The border at (s, t), which runs along s.
  void add(const LaneImage& image, const StripFrame& frame, double s_mm, double t_mm) {
    const Eigen::Vector2d q = frame.pixel(s_mm, t_mm);
    const cv::Rect inside(image.origin_px, image.grey.linear.size());
    if (!inside.contains(cv::Point(static_cast<int>(q.x()), static_cast<int>(q.y())))) return;
    auto border = printed_border(band_profile(image, &LaneImage::grey, frame,
                                              {.s_mm = s_mm,
                                               .t_mid_mm = t_mm,
                                               .half_length_mm = 0.4,
                                               .t_low_mm = -kReachMm,
                                               .t_high_mm = kReachMm},
                                              frame.px_per_mm_across(s_mm, t_mm)),
                                 image.clip);
    if (!border) return;
    const double first = border->step.background, second = first + border->step.parts[0].amplitude;
    blurs.push_back(border->step.blur_px);
    const Spread spread = spread_of(border->samples, border->step);
    core_blurs.push_back(spread.blur_px);
    halos.push_back(spread.halo);
    blacks.push_back(std::min(first, second));
    whites.push_back(std::max(first, second));
    all.push_back(std::move(*border));
  }
};

/// Borders between black and white cells, which run across the lane, just outside of it.
PrintedBorders borders_across(const LaneImage& image, const StripFrame& frame_on_card) {
  constexpr double kBesideLaneMm = 0.65;  // Inside the white rim between cell and marker.
  const CardLayout& layout = card_layout(CardKind::edge);
  const Eigen::AlignedBox2d lane = layout.lane_mm();
  // Turned a quarter: s runs up the page, t along the lane.
  const StripFrame frame = frame_on_card.turned(0.5 * kPi);
  PrintedBorders borders;
  for (int column = 1; column < layout.columns; ++column) {
    const double x = lane.min().x() + column * layout.pitch_mm;
    borders.add(image, frame, lane.max().y() + kBesideLaneMm, x);
    borders.add(image, frame, lane.min().y() - kBesideLaneMm, x);
  }
  return borders;
}

/// Borders between the lane and the white cells beside it, which run along it.
/// @pre The frame's s runs along the page.
PrintedBorders borders_along(const LaneImage& image, const StripFrame& frame) {
  const CardLayout& layout = card_layout(CardKind::edge);
  const Eigen::AlignedBox2d lane = layout.lane_mm();
  PrintedBorders borders;
  for (const double y : {lane.max().y(), lane.min().y()}) {
    for (const CardLayout::Cell& cell : layout.marker_cells) {
      const Eigen::Vector2d top_left = layout.cell_top_left_mm(cell);
      const bool above = std::abs(top_left.y() - layout.pitch_mm - y) < 0.1;
      const bool below = std::abs(top_left.y() - y) < 0.1;
      if (!above && !below) continue;
      const double x = top_left.x() + 0.5 * layout.pitch_mm;
      borders.add(image, frame, x, -y);  // t runs down the page
    }
  }
  return borders;
}

}  // namespace

double Spread::step(double t_px) const {
  const double core = blurred_step(t_px, blur_px);
  return core + halo * (core - blurred_step(t_px, kHaloReach * blur_px));
}

double encoded_black(const CardLook& look) {
  const double black = std::max(look.black, 1e-4);
  return 255.0 * (1.055 * std::pow(black, 1.0 / 2.4) - 0.055);
}

std::optional<CardLook> card_look(const LaneImage& image, const StripFrame& frame_on_card) {
  const PrintedBorders across = borders_across(image, frame_on_card);
  const PrintedBorders along = borders_along(image, frame_on_card);
  if (across.blurs.size() < 4) return std::nullopt;
  const double blur_along_px = along.blurs.size() < 4 ? 0.0 : median(along.blurs);
  double blur_px = std::max(median(across.blurs), blur_along_px);
  const double white = median(across.whites);
  if (white > image.clip)
    blur_px = std::max(blur_px, kUsualBlurPx);  // Half of a border is no measure.
  return CardLook{blur_px,
                  {median(along.blurs.size() < 4 ? across.core_blurs : along.core_blurs),
                   median(along.blurs.size() < 4 ? across.halos : along.halos)},
                  median(across.blacks),
                  white,
                  static_cast<int>(across.blurs.size() + along.blurs.size())};
}

Sharpening card_sharpening(const LaneImage& image, const StripFrame& frame_on_card) {
  std::vector<PrintedBorder> borders = borders_across(image, frame_on_card).all;
  std::ranges::move(borders_along(image, frame_on_card).all, std::back_inserter(borders));
  return sharpening_of(borders, image.clip).value_or(Sharpening{});
}

}  // namespace evenbevel::edge
