#include "land_path.hpp"

#include <algorithm>
#include <cmath>
#include <span>
#include <vector>

#include <opencv2/imgproc.hpp>

namespace evenbevel::edge {
namespace {

constexpr double kNodeMm = 1.0;      // Along the blade, between the path's nodes.
constexpr double kAveragedMm = 3.0;  // Of which a node's evidence is gathered.
constexpr double kMidStepMm = 0.02, kWidthStepMm = 0.03;
constexpr double kDerivativePx = 0.7, kWidePx = 2.1;  // Scales of the gradient.
constexpr float kNoBorder = -3.0F;                    // Log odds where nothing shows,
constexpr float kShare = static_cast<float>(kNodeMm / kAveragedMm) * 2.0F;  // Nodes share windows.
constexpr float kSureBorder = 12.0F;  // and the most that one place can say.
// Halos and streaks are weaker than borders: log odds per natural logarithm of the gradient.
constexpr float kPerLogWeaker = 1.5F;
constexpr float kMidCharge = 0.7F, kWidthCharge = 1.0F;  // A step of the path from node to node.
constexpr double kUsualOffsetShare = 0.05;               // Of the thickness.
constexpr double kLeastLandMm = 12.0;
// Of a node: one clear border and one that is not seen give 6, two streaks of a bare face 3.
constexpr double kLeastEvidence = 4.0;

/// Log odds of a border, row = distance from the mid-line, column = node.
struct Evidence {
  cv::Mat log_odds;
  double low_mm = 0.0, dt_mm = 0.0;
  std::vector<double> s_mm;

  int row_of(double t_mm) const { return static_cast<int>(std::lround((t_mm - low_mm) / dt_mm)); }
  float at_row(int node, int row) const {
    return row < 0 || row >= log_odds.rows ? kShare * kNoBorder : log_odds.at<float>(row, node);
  }
  float at(int node, double t_mm) const { return at_row(node, row_of(t_mm)); }
};

/// The strip with the mid-line laid level.
cv::Mat levelled(const CoarseStrip& fine, const StripLine& mid, int first, int columns,
                 double low_mm, int rows) {
  cv::Mat map(rows, columns, CV_32FC2);
  for (int c = 0; c < columns; ++c) {
    const double t0 = mid.t_mm(fine.s_mm(first + c)) + low_mm;
    for (int r = 0; r < rows; ++r) {
      map.at<cv::Vec2f>(r, c) = cv::Vec2f(static_cast<float>(first + c),
                                          static_cast<float>((t0 - fine.t0_mm) / fine.dt_mm + r));
    }
  }
  cv::Mat level;
  cv::remap(fine.grey, level, map, {}, cv::INTER_LINEAR, cv::BORDER_REPLICATE);
  return level;
}

cv::Mat gradient_down(const cv::Mat& grey, double sigma_rows) {
  cv::Mat out;
  cv::filter2D(grey, out, CV_32F, slope_kernel(sigma_rows), {-1, -1}, 0, cv::BORDER_REPLICATE);
  return out;
}

/// Gradients down the levelled strip, averaged along it: a row for each t, a column for each s.
struct Gradients {
  cv::Mat mean, square, wide;
  double independent = 1.0;  ///< Columns in an average that have pixels and streaks of their own.
  double row_px = 1.0;
  double floor = 0.0;  ///< Levels per row: a step that compression may have made.

  int rows() const { return mean.rows; }
  double size(int row, int column) const {
    return std::abs(mean.at<float>(std::clamp(row, 0, mean.rows - 1), column));
  }
  int rows_of(double px) const { return static_cast<int>(std::lround(px / row_px)); }

  /// How much a border that stands alone is a shade, log odds: of both scales' answers the wide one
  /// is hardly less. A border of the land is as sharp as the lens.
  float softness(int row, int column) const {
    constexpr double kAlonePx = 5.0;
    constexpr double kSharp = 1.55, kShade = 1.2;  // Step of 1.2 px blur, and of 3 px.
    constexpr double kMost = 5.0;                  // Log odds.
    const int alone = rows_of(kAlonePx);
    for (int beside = -alone; beside <= alone; ++beside) {
      if (size(row + beside, column) > 1.5 * size(row, column)) return 0.0F;
    }
    const double ratio =
        size(row, column) / std::max<double>(std::abs(wide.at<float>(row, column)), 1e-6);
    return static_cast<float>(kMost * std::clamp((kSharp - ratio) / (kSharp - kShade), 0.0, 1.0));
  }
};

Gradients gradients_of(const cv::Mat& level, const CoarseStrip& fine, double px_per_mm) {
  Gradients out;
  out.row_px = fine.dt_mm * px_per_mm;
  const cv::Mat gradient = gradient_down(level, kDerivativePx / out.row_px);
  const cv::Mat wide_gradient = gradient_down(level, kWidePx / out.row_px);
  const int window = 2 * static_cast<int>(0.5 * kAveragedMm / fine.ds_mm) + 1;
  cv::blur(wide_gradient, out.wide, {window, 1}, {-1, -1}, cv::BORDER_REPLICATE);
  cv::blur(gradient, out.mean, {window, 1}, {-1, -1}, cv::BORDER_REPLICATE);
  cv::blur(gradient.mul(gradient), out.square, {window, 1}, {-1, -1}, cv::BORDER_REPLICATE);
  out.independent = 0.5 * window;
  out.floor = 0.25 * out.row_px;
  return out;
}

/// Log odds of one place along the blade, for every row: at peaks, and falling off beside them.
void fill_node(cv::Mat column_odds, const Gradients& g, int c) {
  constexpr double kSpreadPx = 0.8;
  const int spread = g.rows_of(kSpreadPx);
  column_odds.setTo(cv::Scalar(kNoBorder * kShare));
  double strongest = g.floor;
  for (int r = 0; r < g.rows(); ++r) strongest = std::max<double>(strongest, g.size(r, c));
  for (int r = 1; r + 1 < g.rows(); ++r) {
    if (g.size(r, c) < g.size(r - 1, c) || g.size(r, c) <= g.size(r + 1, c)) continue;
    const double m = g.mean.at<float>(r, c);
    const double variance =
        std::max(g.square.at<float>(r, c) - m * m, 0.0) / g.independent + g.floor * g.floor;
    const double odds = 0.5 * m * m / variance + static_cast<double>(kNoBorder);
    const float peak = std::max(
        kNoBorder, std::min(static_cast<float>(odds), kSureBorder) +
                       kPerLogWeaker * static_cast<float>(std::log(g.size(r, c) / strongest)) -
                       g.softness(r, c));
    for (int beside = -spread; beside <= spread; ++beside) {
      if (r + beside < 0 || r + beside >= g.rows()) continue;
      const float part =
          1.0F - std::abs(static_cast<float>(beside)) / static_cast<float>(spread + 1);
      float& cell = column_odds.at<float>(r + beside, 0);
      cell = std::max(cell, kShare * (kNoBorder + part * (peak - kNoBorder)));
    }
  }
}

/// From the mean gradient over a few mm against its own scatter there: a Gaussian's log odds.
Evidence evidence_of(const CoarseStrip& fine, double px_per_mm, const InnerSearch& search) {
  const int first =
      std::max(0, static_cast<int>(std::ceil((search.s_low_mm - fine.s0_mm) / fine.ds_mm)));
  const int last =
      std::min(fine.grey.cols - 1, static_cast<int>((search.s_high_mm - fine.s0_mm) / fine.ds_mm));
  Evidence out;
  out.dt_mm = fine.dt_mm;
  out.low_mm = -search.border_limit_mm - 0.1;
  const int columns = last - first + 1;
  if (columns < 8) return out;
  const int rows = static_cast<int>(-2.0 * out.low_mm / fine.dt_mm) + 1;
  const cv::Mat level = levelled(fine, search.mid, first, columns, out.low_mm, rows);
  const Gradients gradients = gradients_of(level, fine, px_per_mm);
  const double each = kNodeMm / fine.ds_mm;
  const int nodes = static_cast<int>(columns / each);
  out.log_odds.create(rows, nodes, CV_32F);
  for (int n = 0; n < nodes; ++n) {
    const int c = static_cast<int>((n + 0.5) * each);
    out.s_mm.push_back(fine.s_mm(first + c));
    fill_node(out.log_odds.col(n), gradients, c);
  }
  return out;
}

struct Grid {
  int mids, widths;
  double mid_low_mm, width_low_mm;

  int states() const { return mids * widths; }
  double mid_mm(int state) const {
    const int mid = state / widths;
    return mid_low_mm + mid * kMidStepMm;
  }
  double width_mm(int state) const { return width_low_mm + (state % widths) * kWidthStepMm; }
};

Grid grid_of(const InnerSearch& search) {
  return {.mids = 2 * static_cast<int>(search.half_width_mm / kMidStepMm) + 1,
          .widths = static_cast<int>((search.gap_high_mm - search.gap_low_mm) / kWidthStepMm) + 1,
          .mid_low_mm = -kMidStepMm * static_cast<int>(search.half_width_mm / kMidStepMm),
          .width_low_mm = search.gap_low_mm};
}

/// What a state asks of the evidence at any node.
struct State {
  int low_row, high_row;
  float charge;  ///< For being off the middle.
};

std::vector<State> states_of(const Evidence& evidence, const Grid& grid, double usual_mm) {
  std::vector<State> out;
  out.reserve(static_cast<std::size_t>(grid.states()));
  for (int state = 0; state < grid.states(); ++state) {
    const double mid = grid.mid_mm(state), half = 0.5 * grid.width_mm(state);
    const double off = mid / usual_mm;
    out.push_back({evidence.row_of(mid - half), evidence.row_of(mid + half),
                   static_cast<float>(0.05 * off * off)});
  }
  return out;
}

void score(const Evidence& evidence, int node, std::span<const State> states,
           std::span<float> out) {
  for (std::size_t i = 0; i < states.size(); ++i) {
    out[i] = evidence.at_row(node, states[i].low_row) + evidence.at_row(node, states[i].high_row) -
             states[i].charge;
  }
}

/// A step's best end: from which of three neighbours, each less its charge. Of equal ones the
/// first.
struct BestStep {
  float value = -1e30F;
  signed char from = 0;

  void consider(float other, signed char other_from) {
    if (other > value) value = other, from = other_from;
  }
};

/// The path with the largest sum of scores less what its steps are charged (Viterbi).
std::vector<int> best_states(const Evidence& evidence, const Grid& grid, double usual_mm) {
  const auto nodes = evidence.s_mm.size();
  const std::vector<State> states = states_of(evidence, grid, usual_mm);
  std::vector<float> total(states.size()), next(states.size()), here(states.size());
  score(evidence, 0, states, total);
  std::vector<std::vector<signed char>> from(nodes, std::vector<signed char>(total.size(), 4));
  std::vector<BestStep> along_mid(static_cast<std::size_t>(grid.widths));
  for (std::size_t n = 1; n < nodes; ++n) {
    score(evidence, static_cast<int>(n), states, here);
    for (int m = 0; m < grid.mids; ++m) {
      for (int w = 0; w < grid.widths; ++w) {
        BestStep& best = along_mid[static_cast<std::size_t>(w)] = {};
        for (int dm = -1; dm <= 1; ++dm) {
          if (m + dm < 0 || m + dm >= grid.mids) continue;
          best.consider(total[static_cast<std::size_t>((m + dm) * grid.widths + w)] -
                            (dm != 0 ? kMidCharge : 0.0F),
                        static_cast<signed char>((dm + 1) * 3));
        }
      }
      for (int w = 0; w < grid.widths; ++w) {
        BestStep best;
        for (int dw = -1; dw <= 1; ++dw) {
          if (w + dw < 0 || w + dw >= grid.widths) continue;
          const BestStep& step = along_mid[static_cast<std::size_t>(w + dw)];
          best.consider(step.value - (dw != 0 ? kWidthCharge : 0.0F),
                        static_cast<signed char>(step.from + dw + 1));
        }
        const auto state = static_cast<std::size_t>(m * grid.widths + w);
        next[state] = best.value + here[state];
        from[n][state] = best.from;
      }
    }
    std::swap(total, next);
  }
  std::vector<int> path(nodes);
  path.back() = static_cast<int>(std::max_element(total.begin(), total.end()) - total.begin());
  for (std::size_t n = nodes - 1; n > 0; --n) {
    const int code = from[n][static_cast<std::size_t>(path[n])];
    path[n - 1] = path[n] + (code / 3 - 1) * grid.widths + code % 3 - 1;
  }
  return path;
}

}  // namespace

std::optional<InnerTrace> follow_land_path(std::span<const CoarseStrip> colours, double px_per_mm,
                                           const InnerSearch& search) {
  Evidence evidence = evidence_of(colours.front(), px_per_mm, search);
  if (evidence.s_mm.size() < 8) return std::nullopt;
  for (const CoarseStrip& other : colours.subspan(1)) {
    cv::max(evidence.log_odds, evidence_of(other, px_per_mm, search).log_odds, evidence.log_odds);
  }
  const Grid grid = grid_of(search);
  if (grid.mids < 3 || grid.widths < 3) return std::nullopt;  // No stock is so thin.
  const double thickness_mm = search.half_width_mm / 0.3;
  const std::vector<int> path = best_states(evidence, grid, kUsualOffsetShare * thickness_mm);
  // The stretch that speaks most for a land (largest sum of a run).
  double sum = 0.0, best = 0.0;
  std::size_t begin = 0, best_begin = 0, best_end = 0;
  for (std::size_t n = 0; n < path.size(); ++n) {
    const double mid = grid.mid_mm(path[n]), half = 0.5 * grid.width_mm(path[n]);
    const int node = static_cast<int>(n);
    sum += static_cast<double>(evidence.at(node, mid - half) + evidence.at(node, mid + half)) -
           kLeastEvidence;
    if (sum <= 0.0) {
      sum = 0.0;
      begin = n + 1;
    } else if (sum > best) {
      best = sum;
      best_begin = begin;
      best_end = n + 1;
    }
  }
  InnerTrace trace;
  for (std::size_t n = best_begin; n < best_end; ++n) {
    const double mid = search.mid.t_mm(evidence.s_mm[n]) + grid.mid_mm(path[n]);
    const double half = 0.5 * grid.width_mm(path[n]);
    trace.places.push_back({evidence.s_mm[n], mid - half, mid + half});
  }
  if (trace.places.size() < 6 || trace.s_end_mm() - trace.s_begin_mm() < kLeastLandMm)
    return std::nullopt;
  trace.strength = best / static_cast<double>(trace.places.size());
  return trace;
}

}  // namespace evenbevel::edge
