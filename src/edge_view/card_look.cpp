#include "card_look.hpp"

#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

#include <Eigen/QR>
#include <opencv2/core/utility.hpp>

#include "evenbevel/card.hpp"
#include "evenbevel/fit.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel::edge {
namespace {

constexpr double kBesideBorderMm = 1.0;

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

using Places = std::vector<Eigen::Vector2d>;  // (s, t), mm.

std::optional<PrintedBorder> border_at(const LaneImage& image, const StripFrame& frame,
                                       const Eigen::Vector2d& place_mm) {
  const double s_mm = place_mm.x(), t_mm = place_mm.y();
  const Eigen::Vector2d q = frame.pixel(s_mm, t_mm);
  const cv::Rect inside(image.origin_px, image.grey.linear.size());
  if (!inside.contains(cv::Point(static_cast<int>(q.x()), static_cast<int>(q.y()))))
    return std::nullopt;
  return printed_border(band_profile(image, &LaneImage::grey, frame,
                                     {.s_mm = s_mm,
                                      .t_mid_mm = t_mm,
                                      .half_length_mm = 0.4,
                                      .t_low_mm = -kBesideBorderMm,
                                      .t_high_mm = kBesideBorderMm},
                                     frame.px_per_mm_across(s_mm, t_mm)),
                        image.clip);
}

/// The borders at these places, which run along s.
std::vector<PrintedBorder> borders_at(const LaneImage& image, const StripFrame& frame,
                                      const Places& places_mm) {
  std::vector<std::optional<PrintedBorder>> read(places_mm.size());
  cv::parallel_for_(cv::Range(0, static_cast<int>(read.size())), [&](const cv::Range& range) {
    for (int i = range.start; i < range.end; ++i) {
      const auto index = static_cast<std::size_t>(i);
      read[index] = border_at(image, frame, places_mm[index]);
    }
  });
  std::vector<PrintedBorder> borders;
  for (std::optional<PrintedBorder>& border : read) {
    if (border) borders.push_back(std::move(*border));
  }
  return borders;
}

/// Borders between black and white cells, which run across the lane, just outside of it.
std::vector<PrintedBorder> borders_across(const LaneImage& image, const StripFrame& frame_on_card) {
  constexpr double kBesideLaneMm = 0.65;  // Inside the white rim between cell and marker.
  const CardLayout& layout = card_layout(CardKind::edge);
  const Eigen::AlignedBox2d lane = layout.lane_mm();
  // Turned a quarter: s runs up the page, t along the lane.
  const StripFrame frame = frame_on_card.turned(0.5 * kPi);
  Places places_mm;
  for (int column = 1; column < layout.columns; ++column) {
    const double x = lane.min().x() + column * layout.pitch_mm;
    places_mm.emplace_back(lane.max().y() + kBesideLaneMm, x);
    places_mm.emplace_back(lane.min().y() - kBesideLaneMm, x);
  }
  return borders_at(image, frame, places_mm);
}

/// Borders between the lane and the white cells beside it, which run along it.
/// @pre The frame's s runs along the page.
std::vector<PrintedBorder> borders_along(const LaneImage& image, const StripFrame& frame) {
  const CardLayout& layout = card_layout(CardKind::edge);
  const Eigen::AlignedBox2d lane = layout.lane_mm();
  Places places_mm;
  for (const double y : {lane.max().y(), lane.min().y()}) {
    for (const CardLayout::Cell& cell : layout.marker_cells) {
      const Eigen::Vector2d top_left = layout.cell_top_left_mm(cell);
      const bool above = std::abs(top_left.y() - layout.pitch_mm - y) < 0.1;
      const bool below = std::abs(top_left.y() - y) < 0.1;
      if (!above && !below) continue;
      const double x = top_left.x() + 0.5 * layout.pitch_mm;
      places_mm.emplace_back(x, -y);  // t runs down the page
    }
  }
  return borders_at(image, frame, places_mm);
}

/// Of all borders, each by a number of its own.
template <class Number>
double median_of(const std::vector<PrintedBorder>& borders, const Number& number) {
  std::vector<double> numbers;
  numbers.reserve(borders.size());
  for (const PrintedBorder& border : borders) numbers.push_back(number(border));
  return median(numbers);
}

double blur_of_px(const PrintedBorder& border) { return border.step.blur_px; }

/// Linear light on either side.
std::pair<double, double> black_and_white(const PrintedBorder& border) {
  const double first = border.step.background, second = first + border.step.parts[0].amplitude;
  return std::minmax(first, second);
}

Spread spread_of(const std::vector<PrintedBorder>& borders) {
  std::vector<double> blurs_px, halos;
  for (const PrintedBorder& border : borders) {
    const Spread spread = spread_of(border.samples, border.step);
    blurs_px.push_back(spread.blur_px);
    halos.push_back(spread.halo);
  }
  return {median(blurs_px), median(halos)};
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

CardBorders::CardBorders(const LaneImage& image, const StripFrame& frame_on_card)
    : clip_(image.clip),
      across_(borders_across(image, frame_on_card)),
      along_(borders_along(image, frame_on_card)) {}

std::optional<CardLook> CardBorders::look() const {
  constexpr std::size_t kEnough = 4;
  if (across_.size() < kEnough) return std::nullopt;
  const bool both = along_.size() >= kEnough;
  double blur =
      std::max(median_of(across_, blur_of_px), both ? median_of(along_, blur_of_px) : 0.0);
  const double white =
      median_of(across_, [](const PrintedBorder& b) { return black_and_white(b).second; });
  if (white > clip_) blur = std::max(blur, kUsualBlurPx);  // Half of a border is no measure.
  return CardLook{
      blur, spread_of(both ? along_ : across_),
      median_of(across_, [](const PrintedBorder& b) { return black_and_white(b).first; }), white,
      static_cast<int>(across_.size() + along_.size())};
}

Sharpening CardBorders::sharpening() const {
  std::vector<PrintedBorder> borders = across_;
  borders.insert(borders.end(), along_.begin(), along_.end());
  return sharpening_of(borders, clip_).value_or(Sharpening{});
}

}  // namespace evenbevel::edge
