#include "row_look.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace evenbevel::choil {

double percentile(std::vector<float> values, double share) {
  if (values.empty()) return 0.0;
  const auto rank = static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1));
  std::nth_element(values.begin(), values.begin() + rank, values.end());
  return static_cast<double>(values[static_cast<std::size_t>(rank)]);
}

double median_of(std::vector<float> values) { return percentile(std::move(values), 0.5); }

RowLook look_at(const cv::Mat& light, int row, double stands_out) {
  const float* values = light.ptr<float>(row);
  const int columns = light.cols, third = columns / 3;
  const double left = percentile({values, values + third}, 0.75);
  const double right = percentile({values + columns - third, values + columns}, 0.75);
  RowLook look;
  look.paper = 0.5 * (left + right);
  look.tilt = (right - left) / (columns - third);
  Run run;
  // Sharpening may lift the border between end face and side to the paper's light.
  constexpr int kBridged = 4;
  const auto finish = [&] {
    if (run.last >= 0 && !look.runs.empty() && run.first - look.runs.back().last <= kBridged) {
      look.runs.back().last = run.last;
    } else if (run.length() >= 2) {
      look.runs.push_back(run);
    }
    run = {};
  };
  for (int column = 0; column < columns; ++column) {
    const double paper = look.paper + look.tilt * (column - 0.5 * columns);
    if (std::abs(static_cast<double>(values[column]) - paper) < stands_out * paper) {
      finish();
      continue;
    }
    if (run.last < 0) run.first = column;
    run.last = column;
  }
  finish();
  return look;
}

}  // namespace evenbevel::choil
