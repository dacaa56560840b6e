#include "ricasso.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

namespace evenbevel::edge {
namespace {

constexpr double kPlaceMm = 0.5;         // Along the blade, between places.
constexpr double kBesidePlungeMm = 1.5;  // Either side of a plunge line nothing is compared.
constexpr double kInsidePlungeMm = 6.0, kOutsidePlungeMm = 4.0;
constexpr double kSearchInMm = 40.0, kSearchOutMm = 12.0;  // About the land's end.
constexpr double kSameFace = 0.09;  // Log of light, encoded: streaks of one face differ so much.
constexpr double kSameLand = 0.15;
constexpr double kMostOfOne = 12.0;  // Log odds that one cue can give.

/// Encoded light of four places across: both facets' middles, the land, all of one column block.
struct Column {
  double s_mm;
  std::array<double, 2> side;     ///< Low, high: mean over the middle of the facet.
  std::array<double, 2> texture;  ///< RMS from column to column, relative.
  double land;
  bool seen;
};

class Reader {
 public:
  Reader(const CoarseStrip& fine, const FlatsPair& rims, const InnerTrace& land)
      : fine_(fine), rims_(rims), land_(land) {}

  Column at(double s_mm) const {
    const int columns = std::max(1, static_cast<int>(std::lround(kPlaceMm / fine_.ds_mm)));
    const int first =
        static_cast<int>(std::lround((s_mm - 0.5 * kPlaceMm - fine_.s0_mm) / fine_.ds_mm));
    Column out{.s_mm = s_mm, .side = {}, .texture = {}, .land = 0.0, .seen = false};
    if (first < 0 || first + columns > fine_.grey.cols) return out;
    const InnerTrace::Place land = land_.at(s_mm);
    const double width = land.high_mm - land.low_mm;
    const double low = rims_.low.t_mm(s_mm), high = rims_.high.t_mm(s_mm);
    out.land =
        mean(first, columns, land.low_mm + 0.25 * width, land.high_mm - 0.25 * width, nullptr);
    out.side[0] = mean(first, columns, low + 0.3 * (land.low_mm - low),
                       low + 0.75 * (land.low_mm - low), &out.texture[0]);
    out.side[1] = mean(first, columns, high - 0.75 * (high - land.high_mm),
                       high - 0.3 * (high - land.high_mm), &out.texture[1]);
    out.seen = out.land > 0.0 && out.side[0] > 0.0 && out.side[1] > 0.0;
    return out;
  }

 private:
  double mean(int first, int columns, double from_mm, double to_mm, double* texture) const {
    const int begin =
        std::clamp(static_cast<int>(std::lround((from_mm - fine_.t0_mm) / fine_.dt_mm)), 0,
                   fine_.grey.rows - 1);
    const int end = std::clamp(static_cast<int>(std::lround((to_mm - fine_.t0_mm) / fine_.dt_mm)),
                               begin, fine_.grey.rows - 1);
    double sum = 0.0, square = 0.0;
    for (int c = first; c < first + columns; ++c) {
      double column = 0.0;
      for (int r = begin; r <= end; ++r) column += fine_.grey.at<float>(r, c);
      column /= end - begin + 1;
      sum += column;
      square += column * column;
    }
    const double m = sum / columns;
    if (texture != nullptr)
      *texture = std::sqrt(std::max(square / columns - m * m, 1e-4)) / std::max(m, 1.0);
    return m;
  }

  const CoarseStrip& fine_;
  const FlatsPair& rims_;
  const InnerTrace& land_;
};

struct Mean {
  double value = 0.0, scatter = 0.0;
  int count = 0;
};

template <class Pick>
Mean mean_over(const std::vector<Column>& columns, double begin_mm, double end_mm, Pick pick) {
  double sum = 0.0, square = 0.0;
  Mean out;
  for (const Column& c : columns) {
    if (!c.seen || c.s_mm < std::min(begin_mm, end_mm) || c.s_mm > std::max(begin_mm, end_mm))
      continue;
    const double value = pick(c);
    sum += value;
    square += value * value;
    ++out.count;
  }
  if (out.count == 0) return out;
  out.value = sum / out.count;
  out.scatter = std::sqrt(std::max(square / out.count - out.value * out.value, 0.0));
  return out;
}

double charge(double off, double usual) {
  return std::min(0.5 * off * off / (usual * usual), kMostOfOne);
}

/// Log odds of plunge lines at one place.
double odds_at(const std::vector<Column>& columns, double s_mm, int side) {
  constexpr int kLeastPlaces = 5;
  const double in_from = s_mm - side * kBesidePlungeMm, in_to = in_from - side * kInsidePlungeMm;
  const double out_from = s_mm + side * kBesidePlungeMm,
               out_to = out_from + side * kOutsidePlungeMm;
  const auto land = [](const Column& c) { return std::log(std::max(c.land, 1.0)); };
  const Mean land_in = mean_over(columns, in_from, in_to, land);
  const Mean land_out = mean_over(columns, out_from, out_to, land);
  if (land_in.count < kLeastPlaces || land_out.count < kLeastPlaces) return -kMostOfOne;
  double odds = -charge(land_out.value - land_in.value, kSameLand);
  for (const std::size_t face : {std::size_t{0}, std::size_t{1}}) {
    const auto beside = [face](const Column& c) {
      return std::log(std::max(c.side[face], 1.0) / std::max(c.land, 1.0));
    };
    const auto texture = [face](const Column& c) { return std::log(c.texture[face]); };
    const Mean in = mean_over(columns, in_from, in_to, beside);
    const Mean out = mean_over(columns, out_from, out_to, beside);
    odds -= charge(out.value, kSameFace);
    const double u_level =
        std::hypot(kSameFace / 2.0, std::hypot(in.scatter, out.scatter) / std::sqrt(kLeastPlaces));
    const double change = (in.value - out.value) / u_level;
    const Mean grain_in = mean_over(columns, in_from, in_to, texture);
    const Mean grain_out = mean_over(columns, out_from, out_to, texture);
    const double u_grain =
        std::hypot(0.2, std::hypot(grain_in.scatter, grain_out.scatter) / std::sqrt(kLeastPlaces));
    const double grain = (grain_in.value - grain_out.value) / u_grain;
    odds += std::min(0.5 * change * change + 0.25 * grain * grain, kMostOfOne);
  }
  return odds - 4.0;  // The best of many places.
}

}  // namespace

RicassoSign ricasso_sign(const CoarseStrip& fine, const FlatsPair& rims, const InnerTrace& land,
                         int side) {
  const Reader reader(fine, rims, land);
  const double end = side > 0 ? land.s_end_mm() : land.s_begin_mm();
  const double margin = kInsidePlungeMm + kOutsidePlungeMm;
  std::vector<Column> columns;
  for (double d = -kSearchInMm - margin; d <= kSearchOutMm + margin; d += kPlaceMm) {
    columns.push_back(reader.at(end + side * d));
  }
  RicassoSign best{.log_odds = -kMostOfOne, .plunge_s_mm = end};
  for (double d = -kSearchInMm; d <= kSearchOutMm; d += kPlaceMm) {
    const double s = end + side * d;
    const double odds = odds_at(columns, s, side);
    if (odds > best.log_odds) best = {odds, s};
  }
  return best;
}

double blade_end_mm(const CoarseStrip& fine, const FlatsPair& rims, const InnerTrace& land,
                    double from_mm, int direction, double limit_mm) {
  constexpr double kChangedWithinMm = 2.0;  // The end is not quite square to the blade.
  constexpr double kOtherLight = 0.25;      // Log of encoded light.
  const Reader reader(fine, rims, land);
  std::vector<Column> columns;
  const double length = direction * (limit_mm - from_mm);
  for (double d = 0.0; d <= length; d += kPlaceMm)
    columns.push_back(reader.at(from_mm + direction * d));
  const auto change = [](double a, double b) {
    return std::abs(std::log(std::max(a, 1.0) / std::max(b, 1.0)));
  };
  const auto step = static_cast<std::size_t>(kChangedWithinMm / kPlaceMm);
  for (std::size_t i = 0; i < columns.size(); ++i) {
    if (!columns[i].seen) return columns[i].s_mm;
    if (i + step >= columns.size()) break;
    const Column &here = columns[i], &there = columns[i + step];
    if (!there.seen || std::min({change(here.land, there.land), change(here.side[0], there.side[0]),
                                 change(here.side[1], there.side[1])}) > kOtherLight) {
      return here.s_mm;
    }
  }
  return limit_mm;
}

}  // namespace evenbevel::edge
