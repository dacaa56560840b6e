#include "cues.hpp"

#include <algorithm>
#include <cmath>

#include <opencv2/imgproc.hpp>

namespace evenbevel::side {

CellSums::CellSums(int cells)
    : code(static_cast<std::size_t>(cells), 0.0), along(code), across(code) {}

CellLine CellSums::mean(double noise2) const {
  const int count = std::max(1, runs);
  const double noise = noise2 * count;
  CellLine line;
  line.code.resize(code.size());
  line.grain.resize(code.size());
  for (std::size_t k = 0; k < code.size(); ++k) {
    line.code[k] = code[k] / count;
    line.grain[k] = std::log((along[k] + noise) / (across[k] + noise));
  }
  return line;
}

BorderCells CellSums::border(double blur) const {
  const double count = std::max(1, runs);
  BorderCells cells{code, along, across, blur};
  for (std::vector<double>* values : {&cells.code, &cells.along, &cells.across}) {
    for (double& value : *values) value /= count;
  }
  return cells;
}

Cues cues_of(const FaceImage& image) {
  Cues cues;
  cues.code = image.code;
  cues.blur_px = image.blur_px;
  cv::Mat dx, dz;
  cv::Sobel(image.code, dx, CV_32F, 1, 0, 3, 0.125);
  cv::Sobel(image.code, dz, CV_32F, 0, 1, 3, 0.125);
  cues.x2 = dx.mul(dx);
  cues.z2 = dz.mul(dz);
  // Half a code step of rounding and noise, seen through the differences.
  cues.noise2 = 2e-6F;
  return cues;
}

Moments::Moments(const std::vector<double>& values)
    : sum_(values.size() + 1), sum_t_(values.size() + 1), sum_squares_(values.size() + 1) {
  for (std::size_t i = 0; i < values.size(); ++i) {
    const auto t = static_cast<double>(i);
    sum_[i + 1] = sum_[i] + values[i];
    sum_t_[i + 1] = sum_t_[i] + t * values[i];
    sum_squares_[i + 1] = sum_squares_[i] + values[i] * values[i];
  }
}

Moments::Window Moments::window(int first, int end) const {
  first = std::max(first, 0);
  end = std::min(end, size());
  if (end <= first) return {};
  const auto a = static_cast<std::size_t>(first), b = static_cast<std::size_t>(end);
  const double n = end - first;
  const double t = 0.5 * (first + end - 1) * n;
  const double m = end - 1, l = first - 1;
  const double tt = (m * (m + 1) * (2 * m + 1) - l * (l + 1) * (2 * l + 1)) / 6.0;
  return {n, sum_[b] - sum_[a], sum_t_[b] - sum_t_[a], sum_squares_[b] - sum_squares_[a], t, tt};
}

Moments::Window Moments::Window::operator+(const Window& other) const {
  return {n + other.n, sum + other.sum, sum_t + other.sum_t, sum_squares + other.sum_squares,
          t + other.t, tt + other.tt};
}

double Moments::Window::scatter() const {
  return n > 0.0 ? std::max(0.0, sum_squares - sum * sum / n) : 0.0;
}

Step step_on_slope(const Moments::Window& first, const Moments::Window& second, double floor2) {
  if (first.n < 3.0 || second.n < 3.0) return {};
  const Moments::Window all = first + second;
  const double determinant = all.n * all.tt - all.t * all.t;
  // What the line leaves of the values and of the unit step, and their product.
  const auto inverse = [&](double a, double b, double c, double d) {
    return (all.tt * a * c - all.t * (a * d + b * c) + all.n * b * d) / determinant;
  };
  const double value_rest = all.sum_squares - inverse(all.sum, all.sum_t, all.sum, all.sum_t);
  const double step_rest = second.n - inverse(second.n, second.t, second.n, second.t);
  const double product = second.sum - inverse(second.n, second.t, all.sum, all.sum_t);
  if (step_rest < 1e-9) return {};
  const double before = std::max(0.0, value_rest);
  const double after = std::max(0.0, before - product * product / step_rest);
  const double floor = all.n * floor2;
  return {0.5 * all.n * std::log((before + floor) / (after + floor)), product / step_rest};
}

Step step_of_levels(const Moments::Window& first, const Moments::Window& second, double floor2) {
  if (first.n < 3.0 || second.n < 3.0) return {};
  const Moments::Window all = first + second;
  const double floor = all.n * floor2;
  return {0.5 * all.n *
              std::log((all.scatter() + floor) / (first.scatter() + second.scatter() + floor)),
          second.mean() - first.mean()};
}

}  // namespace evenbevel::side
