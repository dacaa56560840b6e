#include "near_border.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <span>

#include <Eigen/Dense>
#include <opencv2/imgproc.hpp>

#include "border/path.hpp"
#include "evenbevel/fit.hpp"
#include "evenbevel/trace.hpp"
#include "fit/straight.hpp"

namespace evenbevel::choil {
namespace {

constexpr int kHalfWindow = 5;   // Columns on either side of a border that is looked at.
constexpr int kBlurColumns = 3;  // Columns from the far border that its blur takes.
constexpr double kSharpColumns =
    1.2;  // Gaussian sigma of a sharp border, columns: 1 px and the averaging.
constexpr double kAveragedMm = 0.3;    // Rows averaged, half.
constexpr double kMostEvidence = 4.0;  // Evidence of one row: ten rows about share their pixels.
constexpr double kShapeError = 0.03;   // Of the light's range: what neither shape describes.
constexpr float kStepCost = 0.5F;      // Evidence that a step aside by one column costs.
constexpr int kMostSteps = 2;          // Columns from row to row: sides open by 1 mm a mm at most.

// Columns a row: a border between two of them is blurred by less than a column.
constexpr std::array kLeans{0.0, 0.5, 1.0, 1.5};
constexpr std::array kUpright{0.0};

constexpr int kWindow = 2 * kHalfWindow + 1;
using Window = Eigen::Matrix<double, kWindow, 1>;

/// How rows are averaged: so many on either side, along a lean in columns a row.
struct Averaging {
  int half_rows = 0;
  double lean = 0.0;

  /// Columns that an upright border is spread to either side.
  double spread() const { return half_rows * std::abs(lean); }
};

/// Directions of a window's values: smooth changes and the far border, and what a cubic and a sharp
/// border in the middle have of their own beside these.
class Shapes {
 public:
  /// @param far  Columns from the far border to the window's middle.
  Shapes(double far, const Averaging& rows)
      : first_(
            std::clamp(static_cast<int>(kHalfWindow - far + rows.spread()) + 2, 0, kHalfWindow)) {
    const bool has_far = far < reach(rows);
    Eigen::MatrixXd smooth(kWindow, has_far ? 5 : 3);
    Window cubic, border;
    for (int i = 0; i < kWindow; ++i) {
      const double t = i - kHalfWindow;
      smooth.row(i).head(3) << 1.0, t, t * t;
      if (has_far) {  // and a little aside
        const auto step = [&](double off) { return far_border(t + far + off, rows); };
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

  /// Columns from the far border within which it shows in the window.
  static double reach(const Averaging& rows) { return kHalfWindow + kBlurColumns + rows.spread(); }

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
  /// The far border stands upright: averaged along a lean it is spread.
  static double far_border(double t, const Averaging& rows) {
    double sum = 0.0;
    for (int row = -rows.half_rows; row <= rows.half_rows; ++row) {
      sum += blurred_step(t + rows.lean * row, kSharpColumns);
    }
    return sum / (2 * rows.half_rows + 1);
  }
  Window own(const Window& shape) const {
    return (shape - smooth_ * (smooth_.transpose() * shape)).normalized();
  }
  int first_;  // Of the window's columns beyond the far border's blur.
  Eigen::MatrixXd smooth_;
  Window cubic_, border_;
};

/// For every thickness of the end face, in quarters of a column.
class ShapesByThickness {
 public:
  explicit ShapesByThickness(const Averaging& rows) {
    const int count = static_cast<int>(kPerColumn * Shapes::reach(rows)) + 2;
    for (int i = 0; i < count; ++i) all_.emplace_back(static_cast<double>(i) / kPerColumn, rows);
  }
  const Shapes& at(double far) const {
    const auto i = static_cast<int>(std::lround(far * kPerColumn));
    return all_[static_cast<std::size_t>(std::clamp(i, 0, static_cast<int>(all_.size()) - 1))];
  }

 private:
  static constexpr int kPerColumn = 4;
  std::vector<Shapes> all_;
};

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

cv::Mat averaged(const cv::Mat& light, const Averaging& rows) {
  cv::Mat out = cv::Mat::zeros(light.size(), CV_32F);
  for (int row = 0; row < light.rows; ++row) {
    auto* to = out.ptr<float>(row);
    for (int off = -rows.half_rows; off <= rows.half_rows; ++off) {
      const int at = std::clamp(row + off, 0, light.rows - 1);
      const float* from = light.ptr<float>(at);
      const double shift = rows.lean * (at - row);
      const int whole = static_cast<int>(std::floor(shift));
      const auto part = static_cast<float>(shift - whole);
      for (int k = 0; k < light.cols; ++k) {
        const int low = std::clamp(k + whole, 0, light.cols - 1);
        const int high = std::min(low + 1, light.cols - 1);
        to[k] += (1.0F - part) * from[low] + part * from[high];
      }
    }
  }
  return out / static_cast<double>(2 * rows.half_rows + 1);
}

double noise_of(const cv::Mat& mean) {
  std::vector<double> rough;
  for (int row = 0; row < mean.rows; row += 3) {
    for (int k = 1; k + 1 < mean.cols; k += 2) {
      const auto* v = mean.ptr<float>(row) + k;
      rough.push_back(v[0] - 0.5 * (v[-1] + v[1]));
    }
  }
  return std::max(mad_sigma(rough, 0.0) / std::sqrt(1.5), 2e-4);
}

/// A border at column k lies between k - 1/2 and k + 1/2: the window's middle is k. Averaged
/// upright, a border that leans by a column a row is no longer sharp: each lean is tried.
/// @param far  Column of the far border, a row each.
/// @param leans  Columns a row.
cv::Mat evidence_map(const cv::Mat& light, const std::vector<double>& far, int half_rows,
                     std::span<const double> leans) {
  cv::Mat out(light.size(), CV_32F, cv::Scalar(-kMostEvidence));
  for (const double lean : leans) {
    const Averaging rows{half_rows, lean};
    const ShapesByThickness shapes(rows);
    const cv::Mat mean = averaged(light, rows);
    const double noise = noise_of(mean);
    for (int row = 0; row < light.rows; ++row) {
      for (int k = kHalfWindow; k + kHalfWindow < light.cols; ++k) {
        const float* first = mean.ptr<float>(row) + k - kHalfWindow;
        const Window values =
            Eigen::Map<const Eigen::Matrix<float, kWindow, 1>>(first).cast<double>();
        const double evidence =
            shapes.at(k - far[static_cast<std::size_t>(row)]).evidence(values, noise);
        auto& most = out.at<float>(row, k);
        most = std::max(most, static_cast<float>(std::min(evidence, kMostEvidence)));
      }
    }
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

/// Rows that follow each other.
struct Stretch {
  int first = 0, end = 0;
  int length() const { return end - first; }
};

std::vector<Stretch> borne_out(const std::vector<double>& evidence) {
  std::vector<Stretch> all;
  const int count = static_cast<int>(evidence.size());
  for (int row = 0; row < count; ++row) {
    if (evidence[static_cast<std::size_t>(row)] < kLeastEvidence) continue;
    if (all.empty() || all.back().end != row) all.push_back({row, row});
    all.back().end = row + 1;
  }
  return all;
}

/// Whether the other stretch lies where straight lines through the nearer rows of this one lead:
/// the near border, and the outline of all that shows, which goes on past a near border's end and
/// is taken for it where the side is darker than the end face.
bool goes_on_in(const Stretch& own, const Stretch& other, const std::vector<double>& column,
                const std::vector<int>& reach, double row_mm) {
  constexpr double kAboutMm = 3.0;
  constexpr double kOffColumns = 3.0, kBendColumns = 1.5;  // And for every mm of the gap.
  constexpr double kToldApart = 2.0;  // Columns; closer, border and outline are one.
  const int about = std::min(own.length(), static_cast<int>(kAboutMm / row_mm));
  const bool above = other.first < own.first;
  const int from = above ? own.first : own.end - about;
  std::vector<Eigen::Vector2d> known, outline;
  for (int row = from; row < from + about; ++row) {
    known.emplace_back(row, column[static_cast<std::size_t>(row)]);
    outline.emplace_back(row, reach[static_cast<std::size_t>(row)]);
  }
  const std::optional<Straight> line = straight_through(known), outer = straight_through(outline);
  if (!line || !outer) return false;
  const int at = above ? other.end - 1 : other.first;
  const int gap = above ? own.first - other.end : other.first - own.end;
  const auto off_at = [&](const Straight& course) {
    return std::abs(column[static_cast<std::size_t>(at)] - course.value - course.slope * at);
  };
  const double apart = outer->value - line->value + (outer->slope - line->slope) * at;
  if (apart > kToldApart && off_at(*outer) < off_at(*line)) return false;
  return off_at(*line) < kOffColumns + kBendColumns * row_mm * gap;
}

/// The end face has one border: what is as sharp but off its course is another's, as the side's own
/// outline is close to the edge. The longest stretch is taken for the end face's.
void keep_one_course(FollowedBorder& border, const std::vector<int>& reach, double row_mm) {
  const std::vector<Stretch> all = borne_out(border.evidence);
  if (all.empty()) return;
  const auto longest =
      std::max_element(all.begin(), all.end(),
                       [](const Stretch& a, const Stretch& b) { return a.length() < b.length(); });
  const auto drop_unless_joined = [&](Stretch& own, const Stretch& other) {
    if (goes_on_in(own, other, border.column, reach, row_mm)) {
      own = other;
      return;
    }
    std::fill(border.evidence.begin() + other.first, border.evidence.begin() + other.end, 0.0);
  };
  Stretch top = *longest, bottom = *longest;
  for (auto it = longest; it != all.begin();) drop_unless_joined(top, *--it);
  for (auto it = longest + 1; it != all.end(); ++it) drop_unless_joined(bottom, *it);
  border.first_told = std::max(border.first_told, top.first);
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
      best_steps(evidence_map(light, std::vector<double>(rows, far), half_rows, kLeans),
                 {.reach = kMostSteps, .cost = kStepCost, .first = first, .last = last});
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
  const cv::Mat evidence = evidence_map(along, far_along, half_rows, kUpright);
  const std::vector<int> finer =
      best_steps(evidence, {.reach = kMostSteps, .cost = kStepCost, .first = low, .last = high});

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
  keep_one_course(border, reach, row_mm);
  return border;
}

}  // namespace evenbevel::choil
