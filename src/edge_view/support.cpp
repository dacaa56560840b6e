#include "support.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "evenbevel/photo.hpp"

namespace evenbevel::edge {
namespace {

constexpr double kSupportAlongMm = 4.0;
constexpr double kBorderPx = 3.0;        // Half the width over which a blurred border changes.
constexpr double kCornerWidthMm = 0.05;  // Broken corners: common practice, no source.
// The strongest border between rim and inner pair, of the rim's own strength. A rim may be weak
// where the flat is seen obliquely beside it.
constexpr double kMostBeside = 1.2;
constexpr double kMostOnRicasso = 0.7;
constexpr double kLeastLight = 1e-3;
constexpr double kRicassoMm = 10.0;  // Usual length.

/// Largest mean over so many neighbours; missing ones count as none.
double best_stretch(const std::vector<double>& strength, double columns) {
  const auto length = static_cast<std::size_t>(columns);
  double sum = 0.0, best = 0.0;
  for (std::size_t i = 0; i < strength.size(); ++i) {
    sum += strength[i];
    if (i >= length) sum -= strength[i - length];
    best = std::max(best, sum);
  }
  return best / static_cast<double>(length);
}

}  // namespace

Support::Support(const CoarseStrip& strip, double px_per_mm)
    : strip_(strip),
      size_(cv::abs(gradient_across(strip, px_per_mm, kSupportAlongMm))),
      margin_mm_(kBorderPx / px_per_mm + kCornerWidthMm) {}

double Support::clear(const FlatsPair& flats, int column, double free_high_mm, double free_low_mm,
                      double most_inside) const {
  const auto seen = static_cast<double>(flats.seen[static_cast<std::size_t>(column)]);
  if (seen <= 0.0) return 0.0;
  const auto strongest = [&](double from_mm, double to_mm) {
    const auto row = [&](double t_mm) {
      return std::clamp(static_cast<int>(std::lround((t_mm - strip_.t0_mm) / strip_.dt_mm)), 0,
                        size_.rows - 1);
    };
    float largest = 0.0F;
    for (int r = row(from_mm); r <= row(to_mm); ++r) {
      largest = std::max(largest, size_.at<float>(r, column));
    }
    return largest;
  };
  const double s = strip_.s_mm(column), reach = 0.4 * margin_mm_;
  const double high = flats.high.t_mm(s), low = flats.low.t_mm(s);
  const bool high_clear = strongest(high - free_high_mm, high - margin_mm_) <
                          most_inside * strongest(high - reach, high + reach);
  const bool low_clear = strongest(low + margin_mm_, low + free_low_mm) <
                         most_inside * strongest(low - reach, low + reach);
  return high_clear && low_clear ? seen : 0.0;
}

double Support::beside(const FlatsPair& flats, const InnerTrace& trace) const {
  double sum = 0.0;
  int columns = 0;
  for (int column = 0; column < strip_.grey.cols; ++column) {
    const double s = strip_.s_mm(column);
    if (s < trace.s_begin_mm() || s > trace.s_end_mm()) continue;
    const InnerTrace::Place inner = trace.at(s);
    sum += clear(flats, column, flats.high.t_mm(s) - inner.high_mm - margin_mm_,
                 inner.low_mm - flats.low.t_mm(s) - margin_mm_, kMostBeside);
    ++columns;
  }
  return columns > 0 ? sum / columns : 0.0;
}

double Support::anywhere(const FlatsPair& flats) const {
  std::vector<double> strength;
  for (int column = 0; column < strip_.grey.cols; ++column) {
    const double half = 0.5 * flats.width_mm(strip_.s_mm(column));
    strength.push_back(clear(flats, column, half, half, kMostOnRicasso));
  }
  return best_stretch(strength, kRicassoMm / strip_.ds_mm);
}

Support::Plain Support::plain(const FlatsPair& flats) const {
  constexpr double kHoleMm = 3.0;
  Plain best, now;
  double sum = 0.0;
  bool open = false;
  for (int column = 0; column < strip_.grey.cols; ++column) {
    const double s = strip_.s_mm(column), half = 0.5 * flats.width_mm(s);
    const double here = clear(flats, column, half, half, kMostOnRicasso);
    if (here <= 0.0) continue;
    if (!open || s - now.s_end_mm > kHoleMm) {
      now.s_begin_mm = s;
      sum = 0.0;
    }
    open = true;
    sum += here;
    now.s_end_mm = s;
    now.strength = sum * strip_.ds_mm / (now.length_mm() + strip_.ds_mm);
    if (now.length_mm() > best.length_mm()) best = now;
  }
  return best;
}

Support::Ricasso Support::ricasso(const FlatsPair& flats, const InnerTrace& trace, int side) const {
  constexpr double kPlungeMm = 12.0, kHoleMm = 3.0, kLengthMm = 10.0, kOffEndMm = 2.0;
  constexpr double kLeastShare = 0.25;  // Of the light on the land.
  const double end = side > 0 ? trace.s_end_mm() : trace.s_begin_mm();
  const double half = 0.5 * flats.width_mm(end);
  double first = 0.0, last = -1.0;
  std::vector<double> strength;
  for (int k = 0;; ++k) {
    const double d = k * strip_.ds_mm;
    const int column =
        static_cast<int>(std::lround((end + side * d - strip_.s0_mm) / strip_.ds_mm));
    if (column < 0 || column >= strip_.grey.cols) break;
    const double here = clear(flats, column, half, half, kMostOnRicasso);
    if (last < 0.0 && d > kPlungeMm) break;
    if (last >= 0.0 && d - last > kHoleMm) break;
    if (here > 0.0) {
      if (last < 0.0) first = d;
      last = d;
    }
    strength.push_back(here);
  }
  if (last <= first) return {};
  const double begin = end + side * first, stop = end + side * last;
  const InnerTrace::Place land = trace.at(end - side * kOffEndMm);
  const double from_mid = 0.5 * (land.low_mm + land.high_mm) - flats.mid_mm(land.s_mm);
  const double from = end - side * kOffEndMm, to = end - side * (kOffEndMm + kLengthMm);
  const auto on_land = light(flats, from_mid, std::min(from, to), std::max(from, to));
  const auto here = light(flats, from_mid, std::min(begin, stop), std::max(begin, stop));
  if (!on_land || !here || *here < kLeastShare * *on_land) return {};
  return {best_stretch(strength, kRicassoMm / strip_.ds_mm), std::min(begin, stop),
          std::max(begin, stop), std::abs(std::log(*here / *on_land))};
}

std::optional<double> Support::light(const FlatsPair& flats, double from_mid_mm, double begin_mm,
                                     double end_mm) const {
  constexpr int kEnough = 12;
  double sum = 0.0;
  int count = 0;
  for (int k = 0; begin_mm + k * strip_.ds_mm <= end_mm; ++k) {
    const double s = begin_mm + k * strip_.ds_mm;
    const int column = static_cast<int>(std::lround((s - strip_.s0_mm) / strip_.ds_mm));
    const int row = static_cast<int>(
        std::lround((flats.mid_mm(s) + from_mid_mm - strip_.t0_mm) / strip_.dt_mm));
    if (column < 0 || column >= strip_.grey.cols || row < 1 || row + 1 >= strip_.grey.rows) {
      continue;
    }
    for (int beside = -1; beside <= 1; ++beside) {
      sum += linear_light(static_cast<double>(strip_.grey.at<float>(row + beside, column)) / 255.0);
      ++count;
    }
  }
  return count >= kEnough ? std::optional(std::max(sum / count, kLeastLight)) : std::nullopt;
}

Support::Ricassos Support::ricassos(const FlatsPair& flats, const InnerTrace& trace) const {
  return {ricasso(flats, trace, -1), ricasso(flats, trace, +1)};
}

std::optional<double> Support::change_at_ricasso(const FlatsPair& flats, const InnerTrace& trace,
                                                 const Ricassos& both) const {
  constexpr double kLeastStrength = 0.5, kOffEndMm = 3.0, kLengthMm = 8.0;
  if (both.strength() < kLeastStrength) return std::nullopt;
  const int side = both.above.strength > both.below.strength ? +1 : -1;
  const Ricasso& seen = side > 0 ? both.above : both.below;
  const double end = side > 0 ? trace.s_end_mm() : trace.s_begin_mm();
  const double half = 0.5 * kLengthMm;
  const double land_mm = end - side * (kOffEndMm + half);
  const double face_mm = side > 0 ? std::max(end + kOffEndMm, seen.s_begin_mm) + half
                                  : std::min(end - kOffEndMm, seen.s_end_mm) - half;
  const InnerTrace::Place inner = trace.at(land_mm);
  double largest = 0.0;
  for (const double between : {0.5 * (flats.high.t_mm(land_mm) + inner.high_mm),
                               0.5 * (flats.low.t_mm(land_mm) + inner.low_mm)}) {
    const double from_mid = between - flats.mid_mm(land_mm);
    const auto beside = light(flats, from_mid, land_mm - half, land_mm + half);
    const auto beyond = light(flats, from_mid, face_mm - half, face_mm + half);
    if (beside && beyond) largest = std::max(largest, std::abs(std::log(*beside / *beyond)));
  }
  return largest;
}

}  // namespace evenbevel::edge
