#include "locate.hpp"

#include <algorithm>
#include <cmath>

#include <Eigen/Dense>
#include <opencv2/imgproc.hpp>

namespace evenbevel::edge {
namespace {

constexpr double kBorderBlurPx = 1.2;  // Scale at which borders are sought.
constexpr float kFullStrength = 8.0F;  // A border this strong counts fully; more adds nothing.
constexpr int kHypotheses = 3;         // Many end up as the same pair of lines.
constexpr double kMidBinMm = 0.06;
constexpr double kWidthBinMm = 0.04;
constexpr double kTurnStepRad = 0.002;
constexpr double kInlierMm = 0.12, kInlierPx = 1.0;  // Roughly, and once a line is known.
constexpr double kSeenPx = 1.5;                      // Light moves a border this far.
constexpr double kEmptyGapShare = 0.7;  // Encoded grey; half the card's black in linear light.
constexpr double kInsideMm = 0.25;      // Where "inside" and "outside" of a border are read.

struct PairVote {
  int column;
  double s_mm, low_mm, high_mm;
  float weight;
};

struct ColumnPeaks {
  int column;
  std::vector<Peak> peaks;  // index: row of the strip.
};

std::vector<ColumnPeaks> border_peaks(const cv::Mat& gradient, float at_least) {
  cv::Mat size_by_column;
  cv::transpose(cv::abs(gradient), size_by_column);
  std::vector<ColumnPeaks> all;
  for (int column = 0; column < size_by_column.rows; ++column) {
    const std::span<const float> values(size_by_column.ptr<float>(column),
                                        static_cast<std::size_t>(size_by_column.cols));
    all.push_back({column, local_maxima(values, at_least)});
  }
  return all;
}

/// Between two jaws with nothing in them it is far darker than the card's black, and darker than
/// the jaws.
bool empty_gap(const CoarseStrip& strip, const cv::Mat& smooth, const PairVote& vote,
               double card_black) {
  const auto level = [&](double t_mm) {
    const int row = static_cast<int>(std::lround((t_mm - strip.t0_mm) / strip.dt_mm));
    return smooth.at<float>(std::clamp(row, 0, smooth.rows - 1), vote.column);
  };
  const double inside_low = level(vote.low_mm + kInsideMm);
  const double inside_high = level(vote.high_mm - kInsideMm);
  return std::max(inside_low, inside_high) < kEmptyGapShare * card_black &&
         inside_low < level(vote.low_mm - kInsideMm) &&
         inside_high < level(vote.high_mm + kInsideMm);
}

std::vector<PairVote> pair_votes(const CoarseStrip& strip, const cv::Mat& gradient,
                                 const cv::Mat& smooth, const FlatsSearch& search) {
  std::vector<PairVote> votes;
  for (const ColumnPeaks& at : border_peaks(gradient, search.least_gradient)) {
    for (std::size_t i = 0; i < at.peaks.size(); ++i) {
      for (std::size_t j = i + 1; j < at.peaks.size(); ++j) {
        const double low = strip.t_mm(at.peaks[i].index), high = strip.t_mm(at.peaks[j].index);
        if (high - low < search.width_low_mm) continue;
        if (high - low > search.width_high_mm) break;
        if (search.mid && !search.mid->holds(strip.s_mm(at.column), 0.5 * (low + high))) continue;
        const auto strength = static_cast<float>(std::min(at.peaks[i].value, at.peaks[j].value));
        const PairVote vote{at.column, strip.s_mm(at.column), low, high,
                            std::sqrt(std::min(strength / kFullStrength, 1.0F))};
        if (!empty_gap(strip, smooth, vote, search.card_black)) votes.push_back(vote);
      }
    }
  }
  return votes;
}

struct Hypothesis {
  double slope, mid_mm, width_mm;
};

/// The fullest cells of (direction, mid-line, width), one of a kind: a vote also counts half in the
/// next cells, and hypotheses closer than a border's reach are one.
std::vector<Hypothesis> most_voted(const std::vector<PairVote>& votes, const CoarseStrip& strip,
                                   const FlatsSearch& search, int most) {
  constexpr double kApartMm = 0.15;
  const int turns_each_way = static_cast<int>(search.turn_rad / kTurnStepRad);
  const double t_span = strip.dt_mm * strip.grey.rows;
  const int mids = static_cast<int>(t_span / kMidBinMm) + 1;
  const int widths =
      static_cast<int>((search.width_high_mm - search.width_low_mm) / kWidthBinMm) + 2;
  std::vector<std::pair<float, Hypothesis>> ranked;
  const cv::Mat kernel = (cv::Mat_<float>(3, 1) << 0.5F, 1.0F, 0.5F);
  for (int turn = -turns_each_way; turn <= turns_each_way; ++turn) {
    const double slope = turn * kTurnStepRad;
    cv::Mat cells = cv::Mat::zeros(mids, widths, CV_32F);
    for (const PairVote& vote : votes) {
      const double mid = 0.5 * (vote.low_mm + vote.high_mm) - slope * vote.s_mm - strip.t0_mm;
      const int m = static_cast<int>(mid / kMidBinMm);
      const int w =
          static_cast<int>((vote.high_mm - vote.low_mm - search.width_low_mm) / kWidthBinMm);
      if (m < 0 || m >= mids || w >= widths) continue;
      cells.at<float>(m, w) += vote.weight;
    }
    cv::Mat pooled;
    cv::sepFilter2D(cells, pooled, CV_32F, kernel, kernel, {-1, -1}, 0, cv::BORDER_CONSTANT);
    for (int round = 0; round < most; ++round) {
      double top = 0.0;
      cv::Point where;
      cv::minMaxLoc(pooled, nullptr, &top, nullptr, &where);
      if (top <= 0.0) break;
      ranked.emplace_back(static_cast<float>(top),
                          Hypothesis{slope, strip.t0_mm + (where.y + 0.5) * kMidBinMm,
                                     search.width_low_mm + (where.x + 0.5) * kWidthBinMm});
      cv::circle(pooled, where, static_cast<int>(kApartMm / kWidthBinMm), cv::Scalar(0), -1);
    }
  }
  std::sort(ranked.begin(), ranked.end(),
            [](const auto& a, const auto& b) { return a.first > b.first; });
  std::vector<Hypothesis> best;
  for (const std::pair<float, Hypothesis>& entry : ranked) {
    const Hypothesis& candidate = entry.second;
    const bool known = std::any_of(best.begin(), best.end(), [&](const Hypothesis& h) {
      return std::abs(h.mid_mm - candidate.mid_mm) < kApartMm &&
             std::abs(h.width_mm - candidate.width_mm) < kApartMm;
    });
    if (!known) best.push_back(candidate);
    if (static_cast<int>(best.size()) == most) break;
  }
  return best;
}

StripLine weighted_line(const std::vector<Eigen::Vector3d>& s_t_weight) {
  Eigen::Matrix2d normal = Eigen::Matrix2d::Identity() * 1e-9;
  Eigen::Vector2d right = Eigen::Vector2d::Zero();
  for (const Eigen::Vector3d& p : s_t_weight) {
    const Eigen::Vector2d row(1.0, p.x());
    normal += p.z() * row * row.transpose();
    right += p.z() * p.y() * row;
  }
  const Eigen::Vector2d line = normal.ldlt().solve(right);
  return {line.x(), line.y()};
}

/// A camera tilted along the blade makes the flats converge, by this much at the most: more comes
/// from a short stretch.
void keep_nearly_parallel(FlatsPair& pair, const std::vector<Eigen::Vector3d>& s_t_weight) {
  constexpr double kMostDifference = 0.001;
  const double difference = pair.high.slope - pair.low.slope;
  if (std::abs(difference) <= kMostDifference) return;
  double sum = 0.0, weight = 0.0;
  for (const Eigen::Vector3d& p : s_t_weight) {
    sum += p.z() * p.x();
    weight += p.z();
  }
  const double centre = sum / weight, mean = 0.5 * (pair.high.slope + pair.low.slope);
  const auto turn = [centre](StripLine& line, double slope) {
    line = {line.t_mm(centre) - slope * centre, slope};
  };
  const double half = 0.5 * std::copysign(kMostDifference, difference);
  turn(pair.high, mean + half);
  turn(pair.low, mean - half);
}

void mark_stretch(FlatsPair& pair, const CoarseStrip& strip) {
  constexpr double kBridgeMm = 20.0;  // Glare or a shadow may hide a stretch this long.
  const int bridge = static_cast<int>(kBridgeMm / strip.ds_mm);
  int begin = -1, last = -1, best_begin = 0, best_last = -1, count = 0;
  for (int column = 0; column < static_cast<int>(pair.seen.size()); ++column) {
    if (pair.seen[static_cast<std::size_t>(column)] <= 0.0F) continue;
    ++count;
    if (begin < 0 || column - last > bridge) begin = column;
    last = column;
    if (last - begin > best_last - best_begin) {
      best_begin = begin;
      best_last = last;
    }
  }
  pair.support_mm = count * strip.ds_mm;
  pair.s_begin_mm = strip.s_mm(best_begin);
  pair.s_end_mm = strip.s_mm(best_last);
}

FlatsPair refine(const Hypothesis& start, const std::vector<PairVote>& votes,
                 const CoarseStrip& strip, double px_per_mm) {
  FlatsPair pair;
  pair.low = {start.mid_mm - 0.5 * start.width_mm, start.slope};
  pair.high = {start.mid_mm + 0.5 * start.width_mm, start.slope};
  for (const double reach : {1.5 * kInlierMm, kInlierMm, kInlierPx / px_per_mm,
                             kInlierPx / px_per_mm, kInlierPx / px_per_mm}) {
    std::vector<Eigen::Vector3d> low, high;
    pair.seen.assign(static_cast<std::size_t>(strip.grey.cols), 0.0F);
    for (const PairVote& vote : votes) {
      const double off = std::max(std::abs(vote.low_mm - pair.low.t_mm(vote.s_mm)),
                                  std::abs(vote.high_mm - pair.high.t_mm(vote.s_mm)));
      if (off < std::max(reach, kSeenPx / px_per_mm)) {
        float& seen = pair.seen[static_cast<std::size_t>(vote.column)];
        seen = std::max(seen, vote.weight);
      }
      if (off > reach) continue;
      low.emplace_back(vote.s_mm, vote.low_mm, vote.weight);
      high.emplace_back(vote.s_mm, vote.high_mm, vote.weight);
    }
    if (low.size() < 4) break;
    pair.low = weighted_line(low);
    pair.high = weighted_line(high);
    keep_nearly_parallel(pair, low);
  }
  mark_stretch(pair, strip);
  return pair;
}

/// Whether two pairs lie within a distance of each other all along the stretch of the second.
bool same_borders(const FlatsPair& a, const FlatsPair& b, double within_mm) {
  const auto apart = [&](double s_mm) {
    return std::max(std::abs(a.high.t_mm(s_mm) - b.high.t_mm(s_mm)),
                    std::abs(a.low.t_mm(s_mm) - b.low.t_mm(s_mm)));
  };
  return apart(b.s_begin_mm) < within_mm && apart(b.s_end_mm) < within_mm;
}

}  // namespace

bool ExpectedMid::holds(double s_mm, double mid_mm) const {
  constexpr double kTurn = 0.02;  // Of a line carried on beyond the stretch that was seen.
  const double beyond_mm = std::max({s_begin_mm - s_mm, s_mm - s_end_mm, 0.0});
  return std::abs(mid_mm - line.t_mm(s_mm)) <= within_mm + kTurn * beyond_mm;
}

cv::Mat gradient_across(const CoarseStrip& strip, double px_per_mm, double smooth_along_mm) {
  const double rows_per_px = 1.0 / (strip.dt_mm * px_per_mm);
  // Unit response to a ramp of one grey level per px.
  const cv::Mat across = rows_per_px * slope_kernel(kBorderBlurPx * rows_per_px);
  const int length = 2 * static_cast<int>(0.5 * smooth_along_mm / strip.ds_mm) + 1;
  const cv::Mat along(1, length, CV_32F, cv::Scalar(1.0 / length));
  cv::Mat gradient;
  cv::sepFilter2D(strip.grey, gradient, CV_32F, along, across, {-1, -1}, 0, cv::BORDER_REPLICATE);
  return gradient;
}

std::vector<FlatsPair> find_flats(const CoarseStrip& strip, double px_per_mm,
                                  const FlatsSearch& search, double least_support_mm, int most) {
  const cv::Mat gradient = gradient_across(strip, px_per_mm, search.smooth_along_mm);
  cv::Mat smooth;
  const int length = 2 * static_cast<int>(0.5 * search.smooth_along_mm / strip.ds_mm) + 1;
  cv::blur(strip.grey, smooth, {length, 3});
  const std::vector<PairVote> votes = pair_votes(strip, gradient, smooth, search);
  std::vector<FlatsPair> pairs;
  for (const Hypothesis& start : most_voted(votes, strip, search, kHypotheses * most)) {
    FlatsPair pair = refine(start, votes, strip, px_per_mm);
    const bool known = std::any_of(pairs.begin(), pairs.end(), [&](const FlatsPair& other) {
      return same_borders(other, pair, kInlierPx / px_per_mm);
    });
    if (!known && pair.support_mm >= least_support_mm) pairs.push_back(std::move(pair));
    if (static_cast<int>(pairs.size()) == most) break;
  }
  return pairs;
}

}  // namespace evenbevel::edge
