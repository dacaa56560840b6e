#include "near_border.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <Eigen/Dense>
#include <opencv2/imgproc.hpp>

#include "evenbevel/fit.hpp"
#include "evenbevel/trace.hpp"

namespace evenbevel::choil {
namespace {

constexpr int kHalfWindow = 5;   // Columns on either side of a border that is looked at.
constexpr int kBlurColumns = 3;  // Columns from the far border that its blur takes.
constexpr double kSharpColumns =
    1.2;  // Gaussian sigma of a sharp border, columns: 1 px and the averaging.
constexpr double kAveragedMm = 0.3;    // Rows averaged, half.
constexpr double kMostEvidence = 4.0;  // Evidence of one row: ten rows about share their pixels.
constexpr double kShapeError = 0.03;   // Of the light's range: what neither shape describes.
constexpr double kStepCost = 0.5;      // Evidence that a step aside by one column costs.
constexpr int kMostSteps = 2;          // Columns from row to row: sides open by 1 mm a mm at most.

constexpr int kWindow = 2 * kHalfWindow + 1;
using Window = Eigen::Matrix<double, kWindow, 1>;

/// Directions of a window's values: smooth changes and the far border, and what a cubic and a sharp
/// border in the middle have of their own beside these.
class Shapes {
 public:
  /// @param far  Columns from the far border to the window's middle.
  explicit Shapes(double far)
      : first_(std::clamp(static_cast<int>(kHalfWindow - far) + 2, 0, kHalfWindow)) {
    const bool has_far = far < kHalfWindow + kBlurColumns;
    Eigen::MatrixXd smooth(kWindow, has_far ? 5 : 3);
    Window cubic, border;
    for (int i = 0; i < kWindow; ++i) {
      const double t = i - kHalfWindow;
      smooth.row(i).head(3) << 1.0, t, t * t;
      if (has_far) {  // and a little aside
        const auto step = [&](double off) { return blurred_step(t + far + off, kSharpColumns); };
        smooth.row(i).tail(2) << step(0.0), step(0.5) - step(-0.5);
      }
      cubic[i] = t * t * t;
      border[i] = blurred_step(t, kSharpColumns);
    }
    const Eigen::HouseholderQR<Eigen::MatrixXd> qr(smooth);
    smooth_ = qr.householderQ() * Eigen::MatrixXd::Identity(kWindow, smooth.cols());
    cubic_ = own(cubic);
    border_ = own(border);
  }

  /// Log of how much likelier a sharp border in the middle is than a cubic.
  double evidence(const Window& values, double noise) const {
    const Window rest = values - smooth_ * (smooth_.transpose() * values);
    const auto beyond_far = values.tail(kWindow - first_);
    const double error = kShapeError * (beyond_far.maxCoeff() - beyond_far.minCoeff());
    const double all = rest.squaredNorm(), floor = kWindow * (noise * noise + error * error);
    const auto left = [&](const Window& shape) {
      return std::max(all - std::pow(shape.dot(rest), 2), 0.0) + floor;
    };
    const double free = static_cast<double>(kWindow - 1 - smooth_.cols());
    return 0.5 * free * std::log(left(cubic_) / left(border_));
  }

 private:
  Window own(const Window& shape) const {
    return (shape - smooth_ * (smooth_.transpose() * shape)).normalized();
  }
  int first_;  // Of the window's columns beyond the far border's blur.
  Eigen::MatrixXd smooth_;
  Window cubic_, border_;
};

/// For every thickness of the end face, in quarters of a column.
const Shapes& shapes_at(double far) {
  constexpr int kPerColumn = 4, kCount = kPerColumn * (kHalfWindow + kBlurColumns) + 1;
  static const std::vector<Shapes> kShapes = [] {
    std::vector<Shapes> all;
    for (int i = 0; i < kCount; ++i) all.emplace_back(static_cast<double>(i) / kPerColumn);
    return all;
  }();
  const int i = static_cast<int>(std::lround(far * kPerColumn));
  return kShapes[static_cast<std::size_t>(std::clamp(i, 0, kCount - 1))];
}

/// Rows shifted so that `column` stands upright at `to`.
cv::Mat upright(const cv::Mat& light, const std::vector<double>& column, int to, int columns) {
  cv::Mat map(light.rows, columns, CV_32FC2), out;
  for (int row = 0; row < light.rows; ++row) {
    for (int k = 0; k < columns; ++k) {
      map.at<cv::Vec2f>(row, k) = {
          static_cast<float>(column[static_cast<std::size_t>(row)] - to + k),
          static_cast<float>(row)};
    }
  }
  cv::remap(light, out, map, {}, cv::INTER_LINEAR, cv::BORDER_REPLICATE);
  return out;
}

/// A border at column k lies between k - 1/2 and k + 1/2: the window's middle is k.
/// @param far  Column of the far border, a row each.
cv::Mat evidence_map(const cv::Mat& light, const std::vector<double>& far, int half_rows) {
  cv::Mat mean;
  cv::blur(light, mean, {1, 2 * half_rows + 1}, {-1, -1}, cv::BORDER_REPLICATE);
  std::vector<double> rough;
  for (int row = 0; row < mean.rows; row += 3) {
    for (int k = 1; k + 1 < mean.cols; k += 2) {
      const auto* v = mean.ptr<float>(row) + k;
      rough.push_back(v[0] - 0.5 * (v[-1] + v[1]));
    }
  }
  const double noise = std::max(mad_sigma(rough, 0.0) / std::sqrt(1.5), 2e-4);
  cv::Mat out = cv::Mat::zeros(light.size(), CV_32F);
  for (int row = 0; row < light.rows; ++row) {
    for (int k = kHalfWindow; k + kHalfWindow < light.cols; ++k) {
      const Window values = Eigen::Map<const Eigen::Matrix<float, 2 * kHalfWindow + 1, 1>>(
                                mean.ptr<float>(row) + k - kHalfWindow)
                                .cast<double>();
      out.at<float>(row, k) = static_cast<float>(
          std::clamp(shapes_at(k - far[static_cast<std::size_t>(row)]).evidence(values, noise),
                     -kMostEvidence, kMostEvidence));
    }
  }
  return out;
}

/// The path of most evidence from the first row to the last, by dynamic programming.
std::vector<int> best_path(const cv::Mat& evidence, const std::vector<int>& first,
                           const std::vector<int>& last) {
  const int rows = evidence.rows, columns = evidence.cols;
  constexpr float kNever = -1e9F;
  cv::Mat total(rows, columns, CV_32F, cv::Scalar(kNever));
  cv::Mat from = cv::Mat::zeros(rows, columns, CV_8S);
  const auto inside = [&](int row, int k) {
    const auto i = static_cast<std::size_t>(row);
    return k >= first[i] && k <= last[i];
  };
  for (int row = 0; row < rows; ++row) {
    for (int k = 0; k < columns; ++k) {
      if (!inside(row, k)) continue;
      float best = row == 0 ? 0.0F : kNever;
      for (int step = -kMostSteps; step <= kMostSteps && row > 0; ++step) {
        if (k + step < 0 || k + step >= columns) continue;
        const float before = total.at<float>(row - 1, k + step) -
                             static_cast<float>(kStepCost) * static_cast<float>(std::abs(step));
        if (before > best) {
          best = before;
          from.at<schar>(row, k) = static_cast<schar>(step);
        }
      }
      if (best <= kNever) best = -1e6F;  // Where the bounds leave no way on.
      total.at<float>(row, k) = best + evidence.at<float>(row, k);
    }
  }
  std::vector<int> path(static_cast<std::size_t>(rows));
  int k = first.back();
  for (int i = first.back(); i <= last.back(); ++i) {
    if (total.at<float>(rows - 1, i) > total.at<float>(rows - 1, k)) k = i;
  }
  for (int row = rows - 1; row >= 0; --row) {
    path[static_cast<std::size_t>(row)] = k;
    k = std::clamp(k + from.at<schar>(row, k), 0, columns - 1);
  }
  return path;
}

/// Straight lines through the rows about each.
std::vector<double> smoothed(const std::vector<double>& column, int half_rows) {
  std::vector<double> out(column.size());
  const int count = static_cast<int>(column.size());
  for (int i = 0; i < count; ++i) {
    double n = 0, sx = 0, sy = 0, sxx = 0, sxy = 0;
    for (int k = std::max(0, i - half_rows); k <= std::min(count - 1, i + half_rows); ++k) {
      const double x = k - i, y = column[static_cast<std::size_t>(k)];
      n += 1, sx += x, sy += y, sxx += x * x, sxy += x * y;
    }
    const double det = n * sxx - sx * sx;
    out[static_cast<std::size_t>(i)] = det > 1e-9 ? (sxx * sy - sx * sxy) / det : sy / n;
  }
  return out;
}

std::vector<double> running_mean(const std::vector<double>& values, int half) {
  std::vector<double> out(values.size());
  const int count = static_cast<int>(values.size());
  for (int i = 0; i < count; ++i) {
    double sum = 0.0, n = 0.0;
    for (int k = std::max(0, i - half); k <= std::min(count - 1, i + half); ++k) {
      sum += values[static_cast<std::size_t>(k)];
      n += 1.0;
    }
    out[static_cast<std::size_t>(i)] = sum / n;
  }
  return out;
}

}  // namespace

FollowedBorder follow_near_border(const cv::Mat& light, int far, const std::vector<int>& reach,
                                  double row_mm) {
  constexpr int kRoom = 10;  // Columns on either side of the first path, second time.
  const int half_rows = std::max(1, static_cast<int>(kAveragedMm / row_mm));
  const int smooth_rows = static_cast<int>(1.0 / row_mm);
  const auto rows = static_cast<std::size_t>(light.rows);
  constexpr int kThinColumns = 2;  // Thinner, the two borders are one line.
  const int thin = far + kThinColumns;

  std::vector<int> first(rows, thin), last(rows);
  for (std::size_t i = 0; i < rows; ++i) {
    last[i] = std::clamp(reach[i] + 2, thin, light.cols - 1 - kHalfWindow);
  }
  const std::vector<int> path =
      best_path(evidence_map(light, std::vector<double>(rows, far), half_rows), first, last);
  std::vector<double> column(path.begin(), path.end());
  column = smoothed(column, smooth_rows);

  const cv::Mat along = upright(light, column, kRoom + kHalfWindow, 2 * (kRoom + kHalfWindow) + 1);
  std::vector<int> low(rows), high(rows);
  std::vector<double> far_along(rows);
  for (std::size_t i = 0; i < rows; ++i) {
    const double shift = column[i] - (kRoom + kHalfWindow);
    far_along[i] = far - shift;
    low[i] = std::clamp(static_cast<int>(std::ceil(first[i] - shift)), kHalfWindow,
                        kHalfWindow + 2 * kRoom);
    high[i] =
        std::clamp(static_cast<int>(std::floor(last[i] - shift)), low[i], kHalfWindow + 2 * kRoom);
  }
  const cv::Mat evidence = evidence_map(along, far_along, half_rows);
  const std::vector<int> finer = best_path(evidence, low, high);

  FollowedBorder border;
  for (std::size_t i = 0; i < rows; ++i) {
    border.column.push_back(column[i] + finer[i] - (kRoom + kHalfWindow));
    border.evidence.push_back(evidence.at<float>(static_cast<int>(i), finer[i]));
  }
  border.evidence = running_mean(border.evidence, static_cast<int>(0.5 / row_mm));
  while (border.first_told + 1 < static_cast<int>(rows) &&
         border.column[static_cast<std::size_t>(border.first_told)] < thin + 1.5) {
    ++border.first_told;
  }
  return border;
}

}  // namespace evenbevel::choil
