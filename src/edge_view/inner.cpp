#include "inner.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include <opencv2/imgproc.hpp>

#include "border/path.hpp"

namespace evenbevel::edge {
namespace {

constexpr double kPeaksAlongMm = 2.0;
constexpr double kStateMm = 0.02;         // Grid of the path's mid positions.
constexpr double kMostSlope = 0.06;       // The pair's mid may wander this much, mm per mm.
constexpr double kGapToleranceMm = 0.12;  // The gap's change along the blade.
constexpr double kTraceBridgeMm = 15.0;   // Longest stretch without evidence.
constexpr double kLeastLengthMm = 12.0;

/// Votes of one column: pairs of peaks. `strength` is that of the weaker peak, `weight` compares
/// it with the column's strongest.
struct PeakPair {
  double low_mm, high_mm;
  float weight, strength;
};

using Columns = std::vector<std::vector<PeakPair>>;

double tolerance_mm(double gap_mm) { return std::max(kGapToleranceMm, 0.35 * gap_mm); }

/// The gaps most voted for, at most three that differ clearly: only a fit to the profiles can tell
/// a land's borders from those of what lies beside it.
std::vector<double> typical_gaps(const Columns& columns, const InnerSearch& search) {
  constexpr double kBin = 0.03;
  constexpr int kMost = 3;
  constexpr double kLeastShare = 0.3;  // Of the most voted one's votes.
  std::vector<double> bins(static_cast<std::size_t>(search.gap_high_mm / kBin) + 3, 0.0);
  for (const std::vector<PeakPair>& column : columns) {
    for (const PeakPair& c : column) {
      const auto bin = static_cast<std::size_t>((c.high_mm - c.low_mm) / kBin);
      for (std::size_t b = bin == 0 ? 0 : bin - 1; b <= bin + 1 && b < bins.size(); ++b) {
        bins[b] += c.weight * (b == bin ? 1.0 : 0.5);
      }
    }
  }
  std::vector<double> gaps;
  double most = 0.0;
  for (int round = 0; round < kMost; ++round) {
    const auto top = std::max_element(bins.begin(), bins.end());
    if (*top <= kLeastShare * most) break;
    most = std::max(most, *top);
    const double gap = (static_cast<double>(top - bins.begin()) + 0.5) * kBin;
    gaps.push_back(gap);
    for (std::size_t b = 0; b < bins.size(); ++b) {
      const double other = (static_cast<double>(b) + 0.5) * kBin;
      if (std::abs(other - gap) < tolerance_mm(gap)) bins[b] = 0.0;
    }
  }
  return gaps;
}

std::optional<InnerTrace> follow(const Columns& columns, const std::vector<double>& s_mm,
                                 const InnerSearch& search, double gap) {
  const int states = 2 * static_cast<int>(search.half_width_mm / kStateMm) + 1;
  cv::Mat score = cv::Mat::zeros(static_cast<int>(columns.size()), states, CV_32F);
  const auto state_of = [&](std::size_t column, const PeakPair& c) {
    const double mid = 0.5 * (c.low_mm + c.high_mm) - search.mid.t_mm(s_mm[column]);
    return static_cast<int>(std::lround((mid + search.half_width_mm) / kStateMm));
  };
  const auto usable = [&](const PeakPair& c) {
    return std::abs(c.high_mm - c.low_mm - gap) <= tolerance_mm(gap);
  };
  for (std::size_t column = 0; column < columns.size(); ++column) {
    for (const PeakPair& c : columns[column]) {
      if (!usable(c)) continue;
      const int state = state_of(column, c);
      for (int d = -2; d <= 2; ++d) {
        const int near = state + d;
        if (near < 0 || near >= states) continue;
        auto& cell = score.at<float>(static_cast<int>(column), near);
        cell = std::max(cell, c.weight * (1.0F - 0.25F * static_cast<float>(std::abs(d))));
      }
    }
  }
  constexpr float kMoveCost = 0.05F;  // Of a state aside, candidates' weights being 1 at most.
  const double column_mm = s_mm[1] - s_mm[0];
  const int reach = std::max(1, static_cast<int>(std::ceil(kMostSlope * column_mm / kStateMm)));
  const std::vector<int> path = best_steps(score, {.reach = reach, .cost = kMoveCost});

  InnerTrace trace;
  std::vector<float> strengths;
  for (std::size_t column = 0; column < columns.size(); ++column) {
    const PeakPair* best = nullptr;
    for (const PeakPair& c : columns[column]) {
      if (!usable(c) || std::abs(state_of(column, c) - path[column]) > 3) continue;
      if (best == nullptr || c.weight > best->weight) best = &c;
    }
    if (best == nullptr) continue;
    trace.places.push_back({s_mm[column], best->low_mm, best->high_mm});
    strengths.push_back(best->strength);
  }
  // The longest stretch without a long hole.
  std::size_t begin = 0, best_begin = 0, best_end = 0;
  for (std::size_t i = 0; i < trace.places.size(); ++i) {
    if (i > 0 && trace.places[i].s_mm - trace.places[i - 1].s_mm > kTraceBridgeMm) begin = i;
    if (i + 1 - begin > best_end - best_begin) {
      best_begin = begin;
      best_end = i + 1;
    }
  }
  const auto first = static_cast<std::ptrdiff_t>(best_begin);
  const auto last = static_cast<std::ptrdiff_t>(best_end);
  trace.places = {trace.places.begin() + first, trace.places.begin() + last};
  if (trace.places.size() < 4 || trace.s_end_mm() - trace.s_begin_mm() < kLeastLengthMm) {
    return std::nullopt;
  }
  trace.strength = std::accumulate(strengths.begin() + first, strengths.begin() + last, 0.0) /
                   static_cast<double>(best_end - best_begin);
  return trace;
}

std::vector<InnerTrace> follow_each_gap(const Columns& columns, const std::vector<double>& s_mm,
                                        const InnerSearch& search) {
  std::vector<InnerTrace> traces;
  for (const double gap : typical_gaps(columns, search)) {
    if (auto trace = follow(columns, s_mm, search, gap)) traces.push_back(std::move(*trace));
  }
  return traces;
}

/// Strip with the mid-line laid level, smoothed along it: row = distance from the mid-line.
struct Levelled {
  cv::Mat grey;
  double low_mm = 0.0;
  std::vector<double> s_mm;
};

Levelled levelled(const CoarseStrip& strip, const InnerSearch& search) {
  const int first =
      std::max(0, static_cast<int>(std::ceil((search.s_low_mm - strip.s0_mm) / strip.ds_mm)));
  const int last = std::min(strip.grey.cols - 1,
                            static_cast<int>((search.s_high_mm - strip.s0_mm) / strip.ds_mm));
  Levelled out;
  out.low_mm = -search.half_width_mm - 0.6 * search.gap_high_mm;
  const int rows = static_cast<int>(-2.0 * out.low_mm / strip.dt_mm) + 1;
  const int columns = std::max(0, last - first + 1);
  cv::Mat map(rows, std::max(columns, 1), CV_32FC2, cv::Scalar(0, 0));
  for (int c = 0; c < columns; ++c) {
    const double s = strip.s_mm(first + c);
    out.s_mm.push_back(s);
    for (int r = 0; r < rows; ++r) {
      const double t = search.mid.t_mm(s) + out.low_mm + r * strip.dt_mm;
      map.at<cv::Vec2f>(r, c) = cv::Vec2f(static_cast<float>(first + c),
                                          static_cast<float>((t - strip.t0_mm) / strip.dt_mm));
    }
  }
  cv::remap(strip.grey, out.grey, map, {}, cv::INTER_LINEAR, cv::BORDER_REPLICATE);
  const int length = 2 * static_cast<int>(0.5 * kPeaksAlongMm / strip.ds_mm) + 1;
  cv::blur(out.grey, out.grey, {length, 1});
  return out;
}

/// Derivative of a Gaussian along the rows: first (per px) or second (negative, times sigma^2,
/// so that a bright line gives a positive answer in grey levels).
cv::Mat derivative(const cv::Mat& grey, double sigma_rows, int order) {
  const int reach = static_cast<int>(std::ceil(3.5 * sigma_rows));
  cv::Mat kernel(2 * reach + 1, 1, CV_32F);
  double norm = 0.0;
  for (int i = -reach; i <= reach; ++i) {
    const double u = i / sigma_rows, bell = std::exp(-0.5 * u * u);
    kernel.at<float>(i + reach) = static_cast<float>(order == 1 ? u * bell : (1.0 - u * u) * bell);
    norm += order == 1 ? u * bell * i : bell;
  }
  if (order == 2) kernel -= cv::Scalar(cv::mean(kernel)[0]);
  kernel /= norm;
  cv::Mat out;
  cv::filter2D(grey, out, CV_32F, kernel, {-1, -1}, 0, cv::BORDER_REPLICATE);
  return out;
}

std::vector<Peak> column_maxima(const cv::Mat& response, int column, float at_least) {
  std::vector<float> values(static_cast<std::size_t>(response.rows));
  for (int r = 0; r < response.rows; ++r) {
    values[static_cast<std::size_t>(r)] = response.at<float>(r, column);
  }
  return local_maxima(values, at_least);
}

Columns candidates(const cv::Mat& response, const Levelled& level, const CoarseStrip& strip,
                   const InnerSearch& search, float at_least, float saturates) {
  Columns columns;
  for (int c = 0; c < static_cast<int>(level.s_mm.size()); ++c) {
    std::vector<PeakPair> pairs;
    const std::vector<Peak> peaks = column_maxima(response, c, at_least);
    const double mid_mm = search.mid.t_mm(level.s_mm[static_cast<std::size_t>(c)]);
    for (std::size_t i = 0; i < peaks.size(); ++i) {
      for (std::size_t j = i + 1; j < peaks.size(); ++j) {
        const double low = level.low_mm + peaks[i].index * strip.dt_mm;
        const double high = level.low_mm + peaks[j].index * strip.dt_mm;
        if (high - low < search.gap_low_mm || high - low > search.gap_high_mm) continue;
        if (std::abs(0.5 * (low + high)) > search.half_width_mm) continue;
        if (std::max(-low, high) > search.border_limit_mm) continue;
        pairs.push_back({mid_mm + low, mid_mm + high, 0.0F,
                         static_cast<float>(std::min(peaks[i].value, peaks[j].value))});
      }
    }
    float strongest = saturates;
    for (const PeakPair& pair : pairs) strongest = std::max(strongest, pair.strength);
    for (PeakPair& pair : pairs) pair.weight = std::sqrt(pair.strength / strongest);
    columns.push_back(std::move(pairs));
  }
  return columns;
}

}  // namespace

InnerTrace::Place InnerTrace::at(double s_mm) const {
  const auto above = std::lower_bound(places.begin(), places.end(), s_mm,
                                      [](const Place& p, double s) { return p.s_mm < s; });
  if (above == places.begin()) return {s_mm, places.front().low_mm, places.front().high_mm};
  if (above == places.end()) return {s_mm, places.back().low_mm, places.back().high_mm};
  const Place& b = *above;
  const Place& a = *(above - 1);
  const double f = (s_mm - a.s_mm) / (b.s_mm - a.s_mm);
  return {s_mm, a.low_mm + f * (b.low_mm - a.low_mm), a.high_mm + f * (b.high_mm - a.high_mm)};
}

std::vector<InnerTrace> follow_lines(const CoarseStrip& strip, double px_per_mm,
                                     const InnerSearch& search) {
  const Levelled level = levelled(strip, search);
  if (level.s_mm.size() < 4) return {};
  const double sigma_px = std::max(0.9, 0.6 * search.line_width_mm * px_per_mm);
  const cv::Mat bright = derivative(level.grey, sigma_px / (strip.dt_mm * px_per_mm), 2);
  std::vector<InnerTrace> traces;
  for (const double sign : {1.0, -1.0}) {
    const Columns columns = candidates(sign * bright, level, strip, search, 1.0F, 16.0F);
    for (InnerTrace& trace : follow_each_gap(columns, level.s_mm, search)) {
      traces.push_back(std::move(trace));
    }
  }
  return traces;
}

std::vector<InnerTrace> follow_land(const CoarseStrip& strip, double px_per_mm,
                                    const InnerSearch& search) {
  const Levelled level = levelled(strip, search);
  if (level.s_mm.size() < 4) return {};
  constexpr double kSigmaPx = 0.9;
  const cv::Mat slope = derivative(level.grey, kSigmaPx / (strip.dt_mm * px_per_mm), 1);
  const cv::Mat size = cv::abs(slope) / (strip.dt_mm * px_per_mm);
  return follow_each_gap(candidates(size, level, strip, search, 1.5F, 12.0F), level.s_mm, search);
}

}  // namespace evenbevel::edge
