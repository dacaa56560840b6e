#include "path.hpp"

#include <algorithm>
#include <cstdint>
#include <cstdlib>
#include <utility>

namespace evenbevel {
namespace {

/// States of one column: row by row, slope by slope.
struct States {
  States(int rows_in, int steepest_in)
      : rows(rows_in),
        steepest(steepest_in),
        slopes(2 * steepest_in + 1),
        best(static_cast<std::size_t>(rows_in * slopes), -1e30F) {}

  float& at(int row, int slope) {
    return best[static_cast<std::size_t>(row * slopes + slope + steepest)];
  }

  int rows, steepest, slopes;
  std::vector<float> best;
};

}  // namespace

std::vector<int> best_path(const cv::Mat& gain, const PathOptions& options) {
  const int rows = gain.rows, columns = gain.cols, steepest = options.steepest;
  if (columns == 0 || rows == 0) return {};
  States now(rows, steepest);
  const std::size_t states = now.best.size();
  std::vector<std::int8_t> from(states * static_cast<std::size_t>(columns));
  for (int row = 0; row < rows; ++row) {
    for (int slope = -steepest; slope <= steepest; ++slope)
      now.at(row, slope) = gain.at<float>(row, 0);
  }
  const auto cost = static_cast<float>(options.bend_cost);
  const auto back = static_cast<float>(options.bend_cost * options.back_cost);
  for (int column = 1; column < columns; ++column) {
    States next(rows, steepest);
    std::int8_t* came = from.data() + static_cast<std::size_t>(column) * states;
    for (int row = 0; row < rows; ++row) {
      const float own = gain.at<float>(row, column);
      for (int slope = -steepest; slope <= steepest; ++slope) {
        const int before = row - slope;
        if (before < 0 || before >= rows) continue;
        float best = -1e30F;
        int chosen = slope;
        const int low = std::max(-steepest, slope - options.sharpest);
        const int high = std::min(steepest, slope + options.sharpest);
        for (int other = low; other <= high; ++other) {
          const auto bend = static_cast<float>((slope - other) * (slope - other));
          const float value = now.at(before, other) - (slope < other ? back : cost) * bend;
          if (value > best) best = value, chosen = other;
        }
        next.at(row, slope) = best + own;
        came[row * now.slopes + slope + steepest] = static_cast<std::int8_t>(chosen);
      }
    }
    now = std::move(next);
  }
  const auto top = std::max_element(now.best.begin(), now.best.end()) - now.best.begin();
  int row = static_cast<int>(top) / now.slopes;
  int slope = static_cast<int>(top) % now.slopes - steepest;
  std::vector<int> path(static_cast<std::size_t>(columns));
  for (int column = columns - 1; column >= 0; --column) {
    path[static_cast<std::size_t>(column)] = row;
    const std::size_t state = static_cast<std::size_t>(row * now.slopes + slope + steepest);
    const int before = row - slope;
    slope = static_cast<int>(from[static_cast<std::size_t>(column) * states + state]);
    row = std::clamp(before, 0, rows - 1);
  }
  return path;
}

namespace {

constexpr float kNever = -1e9F;

/// Where a path may run in one row.
struct Room {
  int first, last;
};

Room room_of(const cv::Mat& evidence, int row, const StepOptions& options) {
  if (options.first.empty()) return {0, evidence.cols - 1};
  const auto i = static_cast<std::size_t>(row);
  return {options.first[i], options.last[i]};
}

/// The best way to a column from the row before: what it is worth, and by which step it came.
std::pair<float, int> best_way(const float* before, int columns, int column,
                               const StepOptions& options) {
  std::pair<float, int> best{kNever, 0};
  for (int step = -options.reach; step <= options.reach; ++step) {
    if (column + step < 0 || column + step >= columns) continue;
    const float value = before[column + step] - options.cost * static_cast<float>(std::abs(step));
    if (value > best.first) best = {value, step};
  }
  return best;
}

}  // namespace

std::vector<int> best_steps(const cv::Mat& evidence, const StepOptions& options) {
  const int rows = evidence.rows, columns = evidence.cols;
  cv::Mat total(rows, columns, CV_32F, cv::Scalar(kNever));
  cv::Mat from = cv::Mat::zeros(rows, columns, CV_16S);
  for (int row = 0; row < rows; ++row) {
    const Room room = room_of(evidence, row, options);
    for (int column = std::max(room.first, 0); column <= std::min(room.last, columns - 1);
         ++column) {
      auto [best, step] = row == 0 ? std::pair(0.0F, 0)
                                   : best_way(total.ptr<float>(row - 1), columns, column, options);
      from.at<short>(row, column) = static_cast<short>(step);
      if (best <= kNever) best = kForbidden;  // Where the bounds leave no way on.
      total.at<float>(row, column) = best + evidence.at<float>(row, column);
    }
  }
  std::vector<int> path(static_cast<std::size_t>(rows));
  const Room end = room_of(evidence, rows - 1, options);
  int column = end.first;
  for (int other = end.first; other <= end.last; ++other) {
    if (total.at<float>(rows - 1, other) > total.at<float>(rows - 1, column)) column = other;
  }
  for (int row = rows - 1; row >= 0; --row) {
    path[static_cast<std::size_t>(row)] = column;
    column = std::clamp(column + from.at<short>(row, column), 0, columns - 1);
  }
  return path;
}

}  // namespace evenbevel
