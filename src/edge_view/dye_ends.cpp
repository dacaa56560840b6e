#include "dye_ends.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include <opencv2/imgproc.hpp>

#include "evenbevel/fit.hpp"
#include "evenbevel/trace.hpp"

namespace evenbevel::edge {
namespace {

/// The photo's pixels that hold a strip about a line, within the lane's.
cv::Rect box_of(const LaneImage& image, const StripFrame& frame, const DyeSearch& search) {
  constexpr int kMarginPx = 3;
  std::vector<cv::Point2f> corners;
  for (const double s : {search.s_begin_mm, search.s_end_mm}) {
    for (const double out : {-search.most_mm, search.most_mm}) {
      const Eigen::Vector2d q = frame.pixel(s, search.middle.t_mm(s) + out);
      corners.emplace_back(static_cast<float>(q.x()), static_cast<float>(q.y()));
    }
  }
  const cv::Rect box = cv::boundingRect(corners);
  return cv::Rect(box.x - kMarginPx, box.y - kMarginPx, box.width + 2 * kMarginPx,
                  box.height + 2 * kMarginPx) &
         cv::Rect(image.origin_px, image.colour.size());
}

cv::Mat brighter_of(const cv::Mat& a, const cv::Mat& b) {
  cv::Mat out;
  cv::max(a, b, out);
  return out;
}

/// What of the other channels' light goes with one of the dye's own, in what is grey: the lamp's
/// and the camera's white balance. Card and dye do not count.
double balance(const cv::Mat& own, const cv::Mat& other, const cv::Mat& green,
               const cv::Mat& rest) {
  constexpr double kDyed = 2.0, kGreen = 1.35;  // Linear light.
  const cv::Mat grey = (own < kDyed * rest) & (green < kGreen * brighter_of(own, rest));
  const double there = cv::mean(other, grey)[0];
  return there > 0.0 ? cv::mean(own, grey)[0] / there : 1.0;
}

/// A channel's own light: nothing where the picture is grey, whatever its brightness.
/// @param own  0 or 2: layout dye is blue or red (common practice, no source).
/// @return As `grey`; all of the channel's light as `flats`.
LaneImage dye_light(const LaneImage& image, const cv::Rect& box, int own) {
  const int other = 2 - own;
  std::array<cv::Mat, 3> light;
  for (std::size_t c = 0; c < light.size(); ++c) {
    cv::Mat channel;
    cv::extractChannel(image.colour(box - image.origin_px), channel, static_cast<int>(c));
    light[c] = linear_light(channel);
  }
  const cv::Mat &dye = light[static_cast<std::size_t>(own)], &green = light[1],
                &rest = light[static_cast<std::size_t>(other)];
  const cv::Mat brighter = brighter_of(green, rest);
  LaneImage out;
  out.origin_px = box.tl();
  out.grey.linear = dye - brighter_of(balance(dye, green, green, brighter) * green,
                                      balance(dye, rest, green, brighter) * rest);
  out.flats.linear = dye;
  return out;
}

double middle_level(const std::vector<ProfileSample>& samples, double low_px, double high_px) {
  std::vector<double> values;
  for (const ProfileSample& s : samples) {
    if (s.t_px >= low_px && s.t_px <= high_px) values.push_back(s.value);
  }
  return values.empty() ? 0.0 : median(std::move(values));
}

/// Half-way from the face's light to what follows outside, the outermost place where it passes it.
/// @param samples  Outward, from the middle line.
std::optional<double> end_of(const std::vector<ProfileSample>& samples, double least_px) {
  constexpr double kNearPx = 3.0, kFarPx = 9.0;
  const double face = middle_level(samples, 0.3 * least_px, least_px);
  if (!(face > 0.0)) return std::nullopt;
  const auto outermost = [&](double level) -> std::optional<double> {
    for (std::size_t i = samples.size(); i-- > 1;) {
      const ProfileSample &in = samples[i - 1], &out = samples[i];
      if (in.value < level || out.value >= level) continue;
      return in.t_px + (in.value - level) / (in.value - out.value) * (out.t_px - in.t_px);
    }
    return std::nullopt;
  };
  const std::optional<double> rough = outermost(0.5 * face);
  if (!rough || *rough < least_px) return std::nullopt;
  const double inside = middle_level(samples, *rough - kFarPx, *rough - kNearPx);
  const double outside = middle_level(samples, *rough + kNearPx, *rough + kFarPx);
  if (outside > 0.6 * inside) return std::nullopt;
  return outermost(0.5 * (inside + outside));
}

/// Middle of one dyed stripe's light, px; empty where hardly any is.
/// @param all  The channel's light, where `across` has the dye's.
std::optional<double> stripe_middle_px(const std::vector<ProfileSample>& across,
                                       const std::vector<ProfileSample>& all) {
  constexpr double kLeastLight = 0.01;  // Linear: a twentieth of dye in plain light.
  constexpr double kSurely = 0.4;       // Of the channel's: lamps' colours make no such stripe.
  const auto light_at = [&](std::size_t i) {
    return across[i].value > kSurely * all[i].value ? across[i].value : 0.0;
  };
  double peak = 0.0;
  for (std::size_t i = 0; i < across.size(); ++i) peak = std::max(peak, light_at(i));
  if (peak < kLeastLight) return std::nullopt;
  double sum = 0.0, moment = 0.0;
  for (std::size_t i = 0; i < across.size(); ++i) {
    if (light_at(i) < 0.25 * peak) continue;
    sum += light_at(i);
    moment += light_at(i) * across[i].t_px;
  }
  return moment / sum;
}

}  // namespace

std::optional<DyeEnds> dye_ends(const LaneImage& image, const StripFrame& frame, double px_per_mm,
                                const DyeSearch& search) {
  constexpr double kBandMm = 12.0;
  if (!image.dye_channel) return std::nullopt;
  const cv::Rect box = box_of(image, frame, search);
  if (box.empty()) return std::nullopt;
  const LaneImage light = dye_light(image, box, *image.dye_channel);
  const double length = search.s_end_mm - search.s_begin_mm;
  const int bands = std::max(3, static_cast<int>(length / kBandMm));
  std::array<std::vector<double>, 2> ends;
  for (int i = 0; i < bands; ++i) {
    const double s = search.s_begin_mm + (i + 0.5) * length / bands;
    const std::vector<ProfileSample> across = band_profile(light, &LaneImage::grey, frame,
                                                           {.s_mm = s,
                                                            .t_mid_mm = search.middle.t_mm(s),
                                                            .slope = search.middle.slope,
                                                            .half_length_mm = 0.5 * length / bands,
                                                            .t_low_mm = -search.most_mm,
                                                            .t_high_mm = search.most_mm},
                                                           px_per_mm);
    for (const int side : {-1, +1}) {
      std::vector<ProfileSample> outward;
      for (const ProfileSample& sample : across) {
        if (side * sample.t_px >= 0.0)
          outward.push_back({side * sample.t_px, sample.value, sample.weight});
      }
      if (side < 0) std::reverse(outward.begin(), outward.end());
      if (const auto end = end_of(outward, search.least_mm * px_per_mm))
        ends[side > 0].push_back(*end / px_per_mm);
    }
  }
  const auto least = static_cast<std::size_t>(bands / 2 + 1);
  if (ends[0].size() < least || ends[1].size() < least) return std::nullopt;
  return DyeEnds{.high_mm = median(ends[1]), .low_mm = median(ends[0])};
}

std::optional<double> dyed_land_off_mm(const LaneImage& image, const StripFrame& frame,
                                       double px_per_mm, const InnerTrace& land, double reach_mm) {
  constexpr double kBandMm = 6.0;
  const double begin = land.s_begin_mm(), length = land.s_end_mm() - begin;
  const double first = land.at(begin).mid_mm();
  const double slope = (land.at(land.s_end_mm()).mid_mm() - first) / std::max(length, kBandMm);
  const cv::Rect box = box_of(image, frame,
                              {.s_begin_mm = begin,
                               .s_end_mm = land.s_end_mm(),
                               .middle = {first - slope * begin, slope},
                               .most_mm = reach_mm});
  if (image.colour.empty() || box.empty()) return std::nullopt;
  const int bands = std::max(3, static_cast<int>(length / kBandMm));
  for (const int own : {0, 2}) {
    const LaneImage light = dye_light(image, box, own);
    std::vector<double> off_mm;
    for (int i = 0; i < bands; ++i) {
      const double s = begin + (i + 0.5) * length / bands;
      const Band band{.s_mm = s,
                      .t_mid_mm = land.at(s).mid_mm(),
                      .slope = slope,
                      .half_length_mm = 0.5 * length / bands,
                      .t_low_mm = -reach_mm,
                      .t_high_mm = reach_mm};
      if (const auto middle_px =
              stripe_middle_px(band_profile(light, &LaneImage::grey, frame, band, px_per_mm),
                               band_profile(light, &LaneImage::flats, frame, band, px_per_mm)))
        off_mm.push_back(*middle_px / px_per_mm);
    }
    if (2 * off_mm.size() > static_cast<std::size_t>(bands)) return median(std::move(off_mm));
  }
  return std::nullopt;
}

}  // namespace evenbevel::edge
