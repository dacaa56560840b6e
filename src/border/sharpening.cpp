#include "sharpening.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <vector>

#include <opencv2/core/utility.hpp>
#include <opencv2/imgproc.hpp>

#include "evenbevel/fit.hpp"

namespace evenbevel {
namespace {

constexpr double kAroundPx = 7.0;

/// IEC 61966-2-1, the other way than `linear_light`; 0 to 1.
double encoded_light(double linear) {
  if (linear <= 0.0031308) return 12.92 * std::max(linear, 0.0);
  return 1.055 * std::pow(linear, 1.0 / 2.4) - 0.055;
}

/// Weights of a Gaussian of sigma 1, a step apart, as far as it is taken for the mask.
struct MaskWeights {
  static constexpr double kSigmas = 3.0, kStep = 0.5;
  std::array<double, 13> at{};
  double sum = 0.0;

  MaskWeights() {
    for (std::size_t i = 0; i < at.size(); ++i) {
      at[i] = std::exp(-0.5 * z(i) * z(i));
      sum += at[i];
    }
  }
  static double z(std::size_t i) { return -kSigmas + kStep * static_cast<double>(i); }
};

const MaskWeights kMask;

/// The encoded border, sharpened. Parameters: place, log of blur, amount, log of radius, both
/// levels.
class SharpenedBorder {
 public:
  explicit SharpenedBorder(const Eigen::VectorXd& x)
      : place_px_(x[0]),
        blur_px_(std::exp(x[1])),
        amount_(x[kAmount]),
        radius_px_(std::exp(x[3])),
        low_(x[4]),
        high_(x[5]) {}

  static constexpr Eigen::Index kAmount = 2;  ///< The one parameter on which no `Masked` depends.

  /// Light before it was sharpened, and what the mask takes from it.
  struct Masked {
    double own, taken;
  };
  Masked masked(double t_px) const {
    double sum = 0.0;
    for (std::size_t i = 0; i < kMask.at.size(); ++i) {
      sum += kMask.at[i] * plain(t_px + MaskWeights::z(i) * radius_px_);
    }
    const double own = plain(t_px);
    return {own, own - sum / kMask.sum};
  }
  double sharpened(const Masked& light) const { return light.own + amount_ * light.taken; }

 private:
  double plain(double t_px) const {
    return encoded_light(low_ + (high_ - low_) * blurred_step(t_px - place_px_, blur_px_));
  }

  double place_px_, blur_px_, amount_, radius_px_, low_, high_;
};

}  // namespace

std::optional<Sharpening> sharpening_of(std::span<const ProfileSample> samples, double border_px,
                                        double blur_px, double clip) {
  constexpr double kUsualRadiusPx = 1.2, kLnRadiusU = 0.35, kUsualNoise = 0.01;
  constexpr std::size_t kLeastSamples = 20;
  std::vector<Eigen::Vector2d> shown;
  for (const ProfileSample& s : samples) {
    if (std::abs(s.t_px - border_px) < kAroundPx && s.value < clip)
      shown.emplace_back(s.t_px, encoded_light(s.value));
  }
  if (shown.size() < kLeastSamples) return std::nullopt;
  const auto count = static_cast<Eigen::Index>(shown.size());
  using Masked = std::vector<SharpenedBorder::Masked>;
  const auto masked_at = [&](const Eigen::VectorXd& x) {
    const SharpenedBorder border(x);
    Masked masked;
    masked.reserve(shown.size());
    for (const Eigen::Vector2d& s : shown) masked.push_back(border.masked(s.x()));
    return masked;
  };
  const auto residuals_at = [&](const Eigen::VectorXd& x, const Masked& masked) {
    const SharpenedBorder border(x);
    Eigen::VectorXd r(count + 1);
    for (Eigen::Index i = 0; i < count; ++i) {
      const auto at = static_cast<std::size_t>(i);
      r[i] = (border.sharpened(masked[at]) - shown[at].y()) / kUsualNoise;
    }
    r[count] = (x[3] - std::log(kUsualRadiusPx)) / kLnRadiusU;
    return r;
  };
  Eigen::VectorXd last_x = Eigen::VectorXd::Constant(6, std::numeric_limits<double>::quiet_NaN());
  Masked masked;
  const ResidualFunction model = [&](const Eigen::VectorXd& x, Eigen::VectorXd& residuals,
                                     Eigen::MatrixXd* jacobian) {
    constexpr double kStep = 1e-3;
    if (x != last_x) last_x = x, masked = masked_at(x);  // A trial is asked for again once taken.
    residuals = residuals_at(x, masked);
    if (jacobian == nullptr) return;
    for (Eigen::Index k = 0; k < x.size(); ++k) {
      Eigen::VectorXd ahead = x;
      ahead[k] += kStep;
      const bool as_masked = k == SharpenedBorder::kAmount;
      jacobian->col(k) =
          (residuals_at(ahead, as_masked ? masked : masked_at(ahead)) - residuals) / kStep;
    }
  };
  Eigen::VectorXd start(6);
  start << border_px, std::log(blur_px), 0.2, std::log(kUsualRadiusPx), samples.front().value,
      samples.back().value;
  const LeastSquaresFit fit = least_squares(model, start, static_cast<int>(count) + 1,
                                            {.iterations = 20, .tolerance = 1e-4});
  if (!fit.parameters.allFinite()) return std::nullopt;
  return Sharpening{fit.parameters[2], std::exp(fit.parameters[3])};
}

std::optional<PrintedBorder> printed_border(std::vector<ProfileSample> samples, double clip) {
  constexpr double kLeastContrast = 0.04, kUsualBlurPx = 1.2;
  // Paper beyond the camera's range is only a bound: taken for a level, it sharpens the border.
  ProfileFit fit = fit_profile(samples, {.positions_px = {0.0},
                                         .parts = {{.shape = ProfilePart::Shape::step}},
                                         .blur_px = kUsualBlurPx,
                                         .blur_is_free = true,
                                         .clip = clip});
  if (!fit.converged || std::abs(fit.model.parts[0].amplitude) < kLeastContrast)
    return std::nullopt;
  return PrintedBorder{std::move(samples), std::move(fit.model)};
}

std::optional<Sharpening> sharpening_of(std::span<const PrintedBorder> borders, double clip) {
  constexpr std::size_t kEnough = 4;
  std::vector<std::optional<Sharpening>> masks(borders.size());
  cv::parallel_for_(cv::Range(0, static_cast<int>(borders.size())), [&](const cv::Range& range) {
    for (int i = range.start; i < range.end; ++i) {
      const PrintedBorder& border = borders[static_cast<std::size_t>(i)];
      masks[static_cast<std::size_t>(i)] =
          sharpening_of(border.samples, border.step.positions_px[0], border.step.blur_px, clip);
    }
  });
  std::vector<double> amounts, radii_px;
  for (const std::optional<Sharpening>& mask : masks) {
    if (!mask) continue;
    amounts.push_back(mask->amount);
    radii_px.push_back(mask->radius_px);
  }
  if (amounts.size() < kEnough) return std::nullopt;
  return Sharpening{std::max(median(amounts), 0.0), median(radii_px)};
}

cv::Mat unsharpened(const cv::Mat& encoded, const Sharpening& sharpening, double clip_encoded) {
  constexpr int kRounds = 5;  // Leaves less than one in a hundred of a mask of 1.2.
  constexpr double k16 = 257.0;
  cv::Mat sharp(encoded.size(), CV_32F), plain(encoded.size(), CV_32F);
  cv::Mat blurred(encoded.size(), CV_32F), out(encoded.size(), CV_16U);
  const double step = 2.0 / (2.0 + sharpening.amount);
  const auto side_by_side = [&](const auto& work) {
    cv::parallel_for_(cv::Range(0, plain.rows), work, cv::getNumThreads());
  };
  side_by_side([&](const cv::Range& rows) {
    cv::Mat part = sharp.rowRange(rows), own = plain.rowRange(rows);
    encoded.rowRange(rows).convertTo(part, CV_32F, encoded.depth() == CV_16U ? 1.0 : k16);
    part.copyTo(own);
  });
  for (int round = 0; round < kRounds; ++round) {
    side_by_side([&](const cv::Range& rows) {
      cv::Mat part = blurred.rowRange(rows);
      cv::GaussianBlur(plain.rowRange(rows), part, {}, sharpening.radius_px, 0.0,
                       cv::BORDER_REPLICATE);
    });
    // plain += step (sharp - (1 + amount) plain + amount blurred)
    side_by_side([&](const cv::Range& rows) {
      cv::Mat part = plain.rowRange(rows);
      cv::addWeighted(part, 1.0 - step * (1.0 + sharpening.amount), blurred.rowRange(rows),
                      step * sharpening.amount, 0.0, part);
      cv::scaleAdd(sharp.rowRange(rows), step, part, part);
    });
  }
  side_by_side([&](const cv::Range& rows) {
    const cv::Mat part = sharp.rowRange(rows);
    cv::Mat own = plain.rowRange(rows), end = out.rowRange(rows);
    part.copyTo(own, part >= k16 * clip_encoded);
    own.convertTo(end, CV_16U);
  });
  return out;
}

}  // namespace evenbevel
