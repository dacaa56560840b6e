#include "line_bank.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <opencv2/core.hpp>
#include <opencv2/core/utility.hpp>
#include <opencv2/imgproc.hpp>

#include "evenbevel/units.hpp"

namespace evenbevel::finish {
namespace {

/// The filter's spectrum: real, two values a frequency so that a spectrum may be multiplied by it.
cv::Mat spectrum_gain(cv::Size size, double direction_rad) {
  const double c = std::cos(direction_rad), s = std::sin(direction_rad);
  std::vector<float> fx(static_cast<std::size_t>(size.width));
  for (int i = 0; i < size.width; ++i) {
    fx[static_cast<std::size_t>(i)] =
        static_cast<float>((i <= size.width / 2 ? i : i - size.width)) /
        static_cast<float>(size.width);
  }
  const auto kc = static_cast<float>(2.0 * kPi * c), ks = static_cast<float>(2.0 * kPi * s);
  constexpr auto kLong = static_cast<float>(0.5 * kAlongPx * kAlongPx);
  constexpr auto kShort = static_cast<float>(kAcrossPx * kAcrossPx);
  constexpr float kNothing = 14.0F;  // exp(-14) of the peak
  cv::Mat gain(size, CV_32FC2, cv::Scalar(0.0, 0.0));
  for (int row = 0; row < size.height; ++row) {
    const float fy = static_cast<float>(row <= size.height / 2 ? row : row - size.height) /
                     static_cast<float>(size.height);
    auto* out = gain.ptr<cv::Vec2f>(row);
    for (int i = 0; i < size.width; ++i) {
      // Rows run down: along = (c, -s), across = (s, c).
      const float u = kc * fx[static_cast<std::size_t>(i)] - ks * fy;
      const float v = ks * fx[static_cast<std::size_t>(i)] + kc * fy;
      const float power = kLong * u * u + 0.5F * kShort * v * v;
      if (power > kNothing) continue;
      const float value = kShort * v * v * std::exp(-power);
      out[i] = {value, value};
    }
  }
  return gain;
}

cv::Mat spectrum_of(const cv::Mat& light, cv::Size size) {
  cv::Mat padded(size, CV_32FC1, cv::Scalar(0.0)), spectrum;
  light.copyTo(padded(cv::Rect({}, light.size())));
  cv::dft(padded, spectrum, cv::DFT_COMPLEX_OUTPUT, light.rows);
  return spectrum;
}

cv::Mat filtered(const cv::Mat& spectrum, const cv::Mat& gain, cv::Size face) {
  const cv::Mat product = spectrum.mul(gain);
  cv::Mat out;
  cv::dft(product, out, cv::DFT_INVERSE | cv::DFT_REAL_OUTPUT | cv::DFT_SCALE, face.height);
  return out(cv::Rect({}, face));
}

/// Means over kCellPx squares.
cv::Mat in_cells(const cv::Mat& values) {
  const int columns = (values.cols + kCellPx - 1) / kCellPx;
  const int rows = (values.rows + kCellPx - 1) / kCellPx;
  cv::Mat padded, cells;
  cv::copyMakeBorder(values, padded, 0, rows * kCellPx - values.rows, 0,
                     columns * kCellPx - values.cols, cv::BORDER_CONSTANT, cv::Scalar(0.0));
  cv::resize(padded, cells, {columns, rows}, 0, 0, cv::INTER_AREA);
  return cells;
}

/// The face's own answer about each cell, as the standard deviation of a normal one: scratches hold
/// the smaller part of the cells about it. Negative where there are none.
cv::Mat own_spread(const cv::Mat& answer, const cv::Mat& weight_cells) {
  constexpr int kReach = 3;
  constexpr float kLeastWeight = 0.3F;
  constexpr double kShare = 0.4;
  constexpr float kToDeviation = 1.2533F * 1.03F;  // sqrt(pi / 2); the quantile lies under the mean
  const cv::Mat size = cv::abs(answer);
  const cv::Mat sums = in_cells(size);
  cv::Mat spread(sums.size(), CV_32FC1, cv::Scalar(-1.0));
  std::vector<float> near;
  for (int row = 0; row < sums.rows; ++row) {
    for (int column = 0; column < sums.cols; ++column) {
      near.clear();
      for (int r = std::max(0, row - kReach); r <= std::min(sums.rows - 1, row + kReach); ++r) {
        const float* weight = weight_cells.ptr<float>(r);
        const float* sum = sums.ptr<float>(r);
        for (int c = std::max(0, column - kReach); c <= std::min(sums.cols - 1, column + kReach);
             ++c) {
          if (weight[c] > kLeastWeight) near.push_back(sum[c] / weight[c]);
        }
      }
      if (near.empty()) continue;
      const auto at =
          near.begin() + static_cast<std::ptrdiff_t>(kShare * static_cast<double>(near.size()));
      std::nth_element(near.begin(), at, near.end());
      spread.at<float>(row, column) = kToDeviation * *at;
    }
  }
  return spread;
}

/// Answers over the spread, where larger than what other photos gave.
void take_larger(const cv::Mat& answer, const cv::Mat& spread_cells, uchar photo, cv::Mat& best,
                 cv::Mat& whose) {
  cv::Mat whole, spread;
  cv::resize(spread_cells, whole, spread_cells.size() * kCellPx, 0, 0, cv::INTER_LINEAR);
  spread = whole(cv::Rect({}, answer.size()));
  for (int row = 0; row < answer.rows; ++row) {
    const float* value = answer.ptr<float>(row);
    const float* own = spread.ptr<float>(row);
    uchar* out = best.ptr(row);
    uchar* of = whose.ptr(row);
    for (int i = 0; i < answer.cols; ++i) {
      if (value[i] <= 0.0F || own[i] <= 1e-7F) continue;
      const float steps = static_cast<float>(kSteps) * value[i] / own[i];
      const auto rounded = static_cast<uchar>(std::min(255.0F, steps));
      if (rounded <= out[i]) continue;
      out[i] = rounded, of[i] = photo;
    }
  }
}

bool shines_across(const FlatPhoto& photo, double direction_rad) {
  if (!photo.lamp) return true;
  return lean_along(direction_rad, photo.lamp->azimuth_rad, photo.lamp->elevation_rad) < kNeverFrom;
}

/// No pixel says more than this many times the face's own spread: a crumb, ever so bright, is a few
/// pixels, a scratch is many.
constexpr float kMostAPixel = 4.0F;

cv::Mat limited(const cv::Mat& light, const cv::Mat& weight, const cv::Mat& weight_cells) {
  cv::Mat whole, most, least, out;
  cv::resize(own_spread(light.mul(weight), weight_cells), whole, weight_cells.size() * kCellPx, 0,
             0, cv::INTER_LINEAR);
  most = kMostAPixel * cv::max(whole(cv::Rect({}, light.size())), 0.0F);
  least = -most;
  cv::min(light, most, out);
  cv::max(out, least, out);
  return out;
}

struct Prepared {
  cv::Size size;
  std::vector<cv::Mat> spectra, weight_cells;
  std::vector<cv::Mat> judged;  ///< 255 where a photo can say something.
};

Prepared prepare(const FlatFace& face) {
  Prepared ready;
  const int rim = static_cast<int>(4.0 * kAlongPx);
  ready.size = {cv::getOptimalDFTSize(face.grid.columns + rim),
                cv::getOptimalDFTSize(face.grid.rows + rim)};
  for (const FlatPhoto& photo : face.photos) {
    const cv::Mat judged = (face.surface > 0) & ~photo.blown & ~photo.dark;
    cv::Mat weight;
    judged.convertTo(weight, CV_32F, 1.0 / 255.0);
    ready.judged.push_back(judged);
    ready.weight_cells.push_back(in_cells(weight));
    const cv::Mat light = limited(photo.light, weight, ready.weight_cells.back());
    ready.spectra.push_back(spectrum_of(light, ready.size));
  }
  return ready;
}

/// One direction: its answers into the bank. @return The least spread over the photos, by cells.
cv::Mat run_direction(const FlatFace& face, const AllowedDirections& allowed, const Prepared& ready,
                      int k, LineBank& bank) {
  const auto index = static_cast<std::size_t>(k);
  const cv::Size size = face.surface.size();
  cv::Mat &best = bank.answer[index], &whose = bank.photo[index];
  best = cv::Mat::zeros(size, CV_8UC1), whose = cv::Mat::zeros(size, CV_8UC1);
  cv::Mat least(ready.weight_cells.front().size(), CV_32FC1, cv::Scalar(-1.0));
  if (!allowed.on_flat[index] && !allowed.on_bevel[index]) return least;
  const double direction = direction_of(k);
  const cv::Mat gain = spectrum_gain(ready.size, direction);
  for (std::size_t i = 0; i < face.photos.size(); ++i) {
    if (!shines_across(face.photos[i], direction)) continue;
    cv::Mat answer = filtered(ready.spectra[i], gain, size).clone();
    answer.setTo(0.0F, ~ready.judged[i]);
    const cv::Mat spread = own_spread(answer, ready.weight_cells[i]);
    take_larger(answer, spread, static_cast<uchar>(i), best, whose);
    const cv::Mat better = (spread > 0.0F) & ((least < 0.0F) | (spread < least));
    spread.copyTo(least, better);
  }
  if (!allowed.on_flat[index]) best.setTo(0, face.surface == kFlat);
  if (!allowed.on_bevel[index]) best.setTo(0, face.surface == kBevel);
  return least;
}

cv::Mat middle_of(const std::vector<cv::Mat>& spreads) {
  cv::Mat middle(spreads.front().size(), CV_32FC1, cv::Scalar(-1.0));
  std::vector<float> values;
  for (int row = 0; row < middle.rows; ++row) {
    for (int column = 0; column < middle.cols; ++column) {
      values.clear();
      for (const cv::Mat& spread : spreads) {
        if (spread.at<float>(row, column) > 0.0F) values.push_back(spread.at<float>(row, column));
      }
      if (values.empty()) continue;
      const auto at = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
      std::nth_element(values.begin(), at, values.end());
      middle.at<float>(row, column) = *at;
    }
  }
  return middle;
}

}  // namespace

double direction_of(int filter) { return kPi * filter / kDirections; }

double answer_to_line(double width_px, double blur_px) {
  const double s2 = kAcrossPx * kAcrossPx;
  return width_px * s2 / (std::pow(s2 + blur_px * blur_px, 1.5) * std::sqrt(2.0 * kPi));
}

LineBank run_line_bank(const FlatFace& face, const AllowedDirections& allowed) {
  LineBank bank;
  bank.answer.resize(kDirections), bank.photo.resize(kDirections);
  const Prepared ready = prepare(face);
  std::vector<cv::Mat> spreads(kDirections);
  cv::parallel_for_(cv::Range(0, kDirections), [&](const cv::Range& range) {
    for (int k = range.start; k < range.end; ++k) {
      spreads[static_cast<std::size_t>(k)] = run_direction(face, allowed, ready, k, bank);
    }
  });
  bank.spread = middle_of(spreads);
  return bank;
}

}  // namespace evenbevel::finish
