#include "plunge_levels.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <numeric>
#include <vector>

#include "fit/envelope.hpp"

namespace evenbevel::edge {
namespace {

// A side's level along the blade is a curve: linear between knots, its second differences a share
// of the mean light. The fillet's shade changes over a millimetre; the face's only with the light,
// and where it has narrowed to the land.
struct LevelCurve {
  double knot_mm, bend_share;
};
constexpr LevelCurve kFacetCurve{0.25, 0.2}, kFaceCurve{0.25, 0.1};
constexpr double kLeastScatter = 0.0015;  // Of full scale: 8 bits, in the middle of their range.

/// A place between two knots: how far it is from the first toward the second.
struct BetweenKnots {
  int knot = 0;
  double part = 0.0;

  static BetweenKnots at(double along_mm, const LevelCurve& curve, int knots) {
    const double place = along_mm / curve.knot_mm;
    const int knot = std::clamp(static_cast<int>(place), 0, knots - 2);
    return {knot, place - knot};
  }
  double of(const std::vector<double>& levels) const {
    const auto first = static_cast<std::size_t>(knot);
    return (1.0 - part) * levels[first] + part * levels[first + 1];
  }
};

/// Where every level stands among the unknowns. A knot meets only those near it, so that both
/// curves' knots come first, in order along the blade; then what meets them all: the facet's slope
/// across and the face's rows.
class LevelPlaces {
 public:
  LevelPlaces(const PlungePatch& patch, const PlacedPatch& placed)
      : rows_(patch.rows()), face_begin_mm_(patch.a_begin_mm) {
    const auto [least, most] = std::ranges::minmax(placed.rows, {}, &PlacedRow::lean_mm);
    const double low_mm = patch.a_mm.front() + least.lean_mm;
    const double last_mm = patch.a_mm.back() + most.lean_mm;
    // The facet's levels matter where there is facet; its knots stay where they are as that moves.
    double facet_mm = last_mm;
    for (const PlacedRow& row : placed.rows) {
      if (row.mixed < patch.columns())
        facet_mm =
            std::min(facet_mm, patch.a_mm[static_cast<std::size_t>(row.mixed)] + row.lean_mm);
    }
    facet_begin_mm_ =
        low_mm + kFacetCurve.knot_mm * std::floor((facet_mm - low_mm) / kFacetCurve.knot_mm);
    face_knots_ = static_cast<int>((patch.a_end_mm - patch.a_begin_mm) / kFaceCurve.knot_mm) + 2;
    facet_knots_ = static_cast<int>((last_mm - facet_begin_mm_) / kFacetCurve.knot_mm) + 2;
    lead_ = static_cast<int>(std::lround((facet_begin_mm_ - face_begin_mm_) / kFaceCurve.knot_mm));
  }

  int face_knots() const { return face_knots_; }
  int facet_knots() const { return facet_knots_; }
  int curves() const { return face_knots_ + facet_knots_; }
  int border() const { return 1 + rows_; }
  int size() const { return curves() + border(); }

  int face(int knot) const { return knot + std::clamp(knot - lead_, 0, facet_knots_); }
  int facet(int knot) const { return knot + std::clamp(knot + lead_ + 1, 0, face_knots_); }
  int slope() const { return curves(); }
  int row(int row) const { return curves() + 1 + row; }

  BetweenKnots on_face(double a_mm) const {
    return BetweenKnots::at(a_mm - face_begin_mm_, kFaceCurve, face_knots_);
  }
  BetweenKnots on_facet(double along_mm) const {
    return BetweenKnots::at(std::max(along_mm - facet_begin_mm_, 0.0), kFacetCurve, facet_knots_);
  }

 private:
  int rows_;
  int face_knots_ = 0, facet_knots_ = 0;
  int lead_ = 0;  ///< So many of the face's knots come before the facet's first.
  double face_begin_mm_, facet_begin_mm_ = 0.0;
};

/// Normal equations of both sides' levels, by what meets what. A sample's face is its row's level
/// and what lies between two knots; its facet what lies between two knots, and the slope times y.
struct LevelSums {
  Eigen::ArrayXd face, face_next, face_light;  ///< A knot with itself, the next one, the light.
  Eigen::ArrayXd facet, facet_next, facet_light;
  Eigen::ArrayXXd face_border, facet_border;  ///< The slope, then the rows, with each knot.
  Eigen::ArrayXd row, row_slope, row_light;
  double slope = 0.0, slope_light = 0.0;
  double weights = 0.0;  ///< Of all samples.

  LevelSums(int face_knots, int facet_knots, int rows)
      : face(Eigen::ArrayXd::Zero(face_knots)),
        face_next(face),
        face_light(face),
        facet(Eigen::ArrayXd::Zero(facet_knots)),
        facet_next(facet),
        facet_light(facet),
        face_border(Eigen::ArrayXXd::Zero(1 + rows, face_knots)),
        facet_border(Eigen::ArrayXXd::Zero(1 + rows, facet_knots)),
        row(Eigen::ArrayXd::Zero(rows)),
        row_slope(row),
        row_light(row) {}

  void add_face(BetweenKnots on, double weight, double light) {
    const double next = weight * on.part, own = weight - next;
    face[on.knot] += own * (1.0 - on.part);
    face_next[on.knot] += own * on.part;
    face[on.knot + 1] += next * on.part;
    face_light[on.knot] += light * (1.0 - on.part);
    face_light[on.knot + 1] += light * on.part;
  }
  void add_row(int r, BetweenKnots on, double weight, double light) {
    face_border(1 + r, on.knot) += weight * (1.0 - on.part);
    face_border(1 + r, on.knot + 1) += weight * on.part;
    row[r] += weight;
    row_light[r] += light;
  }
  void add_facet(double y_mm, BetweenKnots on, double weight, double light) {
    const double next = weight * on.part, own = weight - next;
    facet[on.knot] += own * (1.0 - on.part);
    facet_next[on.knot] += own * on.part;
    facet[on.knot + 1] += next * on.part;
    facet_border(0, on.knot) += own * y_mm;
    facet_border(0, on.knot + 1) += next * y_mm;
    facet_light[on.knot] += light * (1.0 - on.part);
    facet_light[on.knot + 1] += light * on.part;
    slope += weight * y_mm * y_mm;
    slope_light += light * y_mm;
  }
  void add_both(int r, double y_mm, BetweenKnots on_face, BetweenKnots on_facet, double weight) {
    face_border(0, on_face.knot) += weight * (1.0 - on_face.part) * y_mm;
    face_border(0, on_face.knot + 1) += weight * on_face.part * y_mm;
    facet_border(1 + r, on_facet.knot) += weight * (1.0 - on_facet.part);
    facet_border(1 + r, on_facet.knot + 1) += weight * on_facet.part;
    row_slope[r] += weight * y_mm;
  }
};

/// Levels of both sides as one linear least squares problem: the face's rows and curve, the facet's
/// curve and slope across.
class PlungeLevels {
 public:
  PlungeLevels(const PlungePatch& patch, const PlacedPatch& placed)
      : patch_(patch), placed_(placed), places_(patch, placed), mean_(patch.light.mean()) {
    for (const double a : patch.a_mm) on_face_.push_back(places_.on_face(a));
    on_facet_.resize(static_cast<std::size_t>(patch.light.size()));
    for (int r = 0; r < patch.rows(); ++r) {
      const PlacedRow& row = placed.rows[static_cast<std::size_t>(r)];
      for (int c = row.mixed; c < patch.columns(); ++c)
        on_facet(r, c) = places_.on_facet(patch.a_mm[static_cast<std::size_t>(c)] + row.lean_mm);
    }
    set_first();
  }

  /// Those that suit the samples best, each by its variance.
  Eigen::VectorXd levels(const SideVariance& variance) const {
    EnvelopeSystem matrix(first_, places_.border());
    const LevelSums sums = summed(variance, matrix);
    Eigen::VectorXd right(places_.size());
    put_curves(sums, matrix, right);
    put_border(sums, matrix, right);
    hold(matrix, sums.weights / static_cast<double>(patch_.light.size()));
    matrix.solve(right);
    return right;
  }

  void miss(const Eigen::VectorXd& levels, PlungeGrid& out) const {
    std::vector<double> face(static_cast<std::size_t>(places_.face_knots()));
    std::vector<double> facet(static_cast<std::size_t>(places_.facet_knots()));
    for (std::size_t k = 0; k < face.size(); ++k)
      face[k] = levels[places_.face(static_cast<int>(k))];
    for (std::size_t k = 0; k < facet.size(); ++k)
      facet[k] = levels[places_.facet(static_cast<int>(k))];
    Eigen::RowVectorXd columns(patch_.columns());
    for (int c = 0; c < patch_.columns(); ++c) columns[c] = on_face(c).of(face);
    for (int r = 0; r < patch_.rows(); ++r) {
      const double row = levels[places_.row(r)], sloped = levels[places_.slope()] * y_mm(r);
      const int mixed = placed_.rows[static_cast<std::size_t>(r)].mixed;
      out.row(r).head(mixed) =
          patch_.light.row(r).head(mixed).array() - row - columns.head(mixed).array();
      for (int c = mixed; c < patch_.columns(); ++c) {
        const double share = placed_.facet(r, c);
        out(r, c) = patch_.light(r, c) - (1.0 - share) * (row + columns[c]) -
                    share * (on_facet(r, c).of(facet) + sloped);
      }
    }
  }

 private:
  const BetweenKnots& on_face(int column) const {
    return on_face_[static_cast<std::size_t>(column)];
  }
  BetweenKnots& on_facet(int row, int column) {
    return on_facet_[static_cast<std::size_t>(row * patch_.columns() + column)];
  }
  const BetweenKnots& on_facet(int row, int column) const {
    return on_facet_[static_cast<std::size_t>(row * patch_.columns() + column)];
  }
  double y_mm(int row) const { return patch_.y_mm[static_cast<std::size_t>(row)]; }

  /// The first knot that each one meets.
  void set_first() {
    first_.resize(static_cast<std::size_t>(places_.curves()));
    std::iota(first_.begin(), first_.end(), 0);
    const auto meets = [&](int at, int earlier) {
      int& begin = first_[static_cast<std::size_t>(at)];
      begin = std::min(begin, earlier);
    };
    for (int k = 1; k < places_.face_knots(); ++k)
      meets(places_.face(k), places_.face(std::max(k - 2, 0)));
    for (int k = 1; k < places_.facet_knots(); ++k)
      meets(places_.facet(k), places_.facet(std::max(k - 2, 0)));
    for (int r = 0; r < patch_.rows(); ++r) {
      for (int c = placed_.rows[static_cast<std::size_t>(r)].mixed; c < patch_.columns(); ++c) {
        if (placed_.facet(r, c) >= 1.0) break;
        const int face = on_face(c).knot, facet = on_facet(r, c).knot;
        const int least = std::min(places_.face(face), places_.facet(facet));
        for (const int next : {0, 1}) {
          meets(places_.face(face + next), least);
          meets(places_.facet(facet + next), least);
        }
      }
    }
  }

  /// Few of the face's knots meet any of the facet's: these go into the matrix at once.
  void put_meeting(BetweenKnots on_face, BetweenKnots on_facet, double weight,
                   EnvelopeSystem& matrix) const {
    for (const int beside : {0, 1}) {
      const int face = places_.face(on_face.knot + beside);
      const double share = weight * (beside == 0 ? 1.0 - on_face.part : on_face.part);
      for (const int next : {0, 1}) {
        const int facet = places_.facet(on_facet.knot + next);
        matrix.at(std::max(face, facet), std::min(face, facet)) +=
            share * (next == 0 ? 1.0 - on_facet.part : on_facet.part);
      }
    }
  }

  LevelSums summed(const SideVariance& variance, EnvelopeSystem& matrix) const {
    LevelSums sums(places_.face_knots(), places_.facet_knots(), patch_.rows());
    add_face_alone(1.0 / variance.face, sums);
    for (int r = 0; r < patch_.rows(); ++r) {
      const int mixed = placed_.rows[static_cast<std::size_t>(r)].mixed;
      const double y = y_mm(r);
      double facet = 0.0, weight = 0.0;
      for (int c = mixed; c < patch_.columns(); ++c) {
        if (facet != placed_.facet(r, c)) {
          facet = placed_.facet(r, c);
          weight = 1.0 / variance.of(facet);
        }
        const double face = 1.0 - facet, light = weight * patch_.light(r, c);
        sums.weights += weight;
        sums.add_facet(y, on_facet(r, c), weight * facet * facet, facet * light);
        if (face == 0.0) continue;
        sums.add_face(on_face(c), weight * face * face, face * light);
        sums.add_row(r, on_face(c), weight * face * face, face * light);
        sums.add_both(r, y, on_face(c), on_facet(r, c), weight * face * facet);
        put_meeting(on_face(c), on_facet(r, c), weight * face * facet, matrix);
      }
    }
    return sums;
  }

  /// What shows no facet. The face's knots lie at the same columns in all rows: what its curve has
  /// of them is summed down each column first.
  void add_face_alone(double weight, LevelSums& sums) const {
    Eigen::ArrayXd ends = Eigen::ArrayXd::Zero(patch_.columns() + 1);
    Eigen::ArrayXd light = Eigen::ArrayXd::Zero(patch_.columns());
    double rows = 0.0;
    for (int r = 0; r < patch_.rows(); ++r) {
      const int mixed = placed_.rows[static_cast<std::size_t>(r)].mixed;
      rows += 1.0, ends[mixed] += 1.0;
      light.head(mixed) += patch_.light.row(r).head(mixed).transpose().array();
      for (int c = 0; c < mixed; ++c)
        sums.add_row(r, on_face(c), weight, weight * patch_.light(r, c));
    }
    for (int c = 0; c < patch_.columns(); ++c) {
      rows -= ends[c];
      sums.weights += weight * rows;
      sums.add_face(on_face(c), weight * rows, weight * light[c]);
    }
  }

  void put_curves(const LevelSums& sums, EnvelopeSystem& matrix, Eigen::VectorXd& right) const {
    for (int k = 0; k < places_.face_knots(); ++k) {
      const int at = places_.face(k);
      matrix.at(at, at) = sums.face[k];
      if (k > 0) matrix.at(at, places_.face(k - 1)) = sums.face_next[k - 1];
      right[at] = sums.face_light[k];
    }
    for (int m = 0; m < places_.facet_knots(); ++m) {
      const int at = places_.facet(m);
      matrix.at(at, at) = sums.facet[m];
      if (m > 0) matrix.at(at, places_.facet(m - 1)) = sums.facet_next[m - 1];
      right[at] = sums.facet_light[m];
    }
  }

  /// The slope and the rows.
  void put_border(const LevelSums& sums, EnvelopeSystem& matrix, Eigen::VectorXd& right) const {
    const int slope = places_.slope();
    matrix.at(slope, slope) = sums.slope;
    right[slope] = sums.slope_light;
    for (int k = 0; k < places_.face_knots(); ++k)
      matrix.border(places_.face(k)) = sums.face_border.col(k);
    for (int m = 0; m < places_.facet_knots(); ++m)
      matrix.border(places_.facet(m)) = sums.facet_border.col(m);
    for (int r = 0; r < patch_.rows(); ++r) {
      const int at = places_.row(r);
      matrix.at(at, at) = sums.row[r];
      matrix.at(at, slope) = sums.row_slope[r];
      right[at] = sums.row_light[r];
    }
  }

  /// @param place  Of a knot.
  template <class Place>
  static void hold_curve(EnvelopeSystem& normal, int knots, double stiff, const Place& place) {
    constexpr std::array kDifference = {1.0, -2.0, 1.0};
    for (int k = 0; k + 2 < knots; ++k) {
      for (int a = 0; a < 3; ++a) {
        for (int b = 0; b <= a; ++b) {
          normal.at(place(k + a), place(k + b)) += stiff *
                                                   kDifference[static_cast<std::size_t>(a)] *
                                                   kDifference[static_cast<std::size_t>(b)];
        }
      }
    }
  }

  /// Curves are smooth, and no level is free where nothing is seen.
  void hold(EnvelopeSystem& normal, double weight) const {
    constexpr double kNoise = 0.01;  // Usual scatter of a sample, of full scale.
    const auto stiff = [&](const LevelCurve& curve) {
      const double bend = curve.bend_share * std::max(mean_, 0.02) / kNoise;
      return weight / (bend * bend);
    };
    hold_curve(normal, places_.face_knots(), stiff(kFaceCurve),
               [&](int knot) { return places_.face(knot); });
    hold_curve(normal, places_.facet_knots(), stiff(kFacetCurve),
               [&](int knot) { return places_.facet(knot); });
    for (int i = 0; i < normal.size(); ++i) normal.at(i, i) += 1e-5 * weight;
  }

  const PlungePatch& patch_;
  const PlacedPatch& placed_;
  LevelPlaces places_;
  std::vector<BetweenKnots> on_face_;   ///< Of each column,
  std::vector<BetweenKnots> on_facet_;  ///< of each sample that shows some facet.
  std::vector<int> first_;
  double mean_;  ///< Light.
};

/// Each side's, by how much of it every sample shows.
SideVariance variance_of(const PlacedPatch& placed, const PlungeGrid& missed) {
  constexpr double kFloor = kLeastScatter * kLeastScatter;
  SideVariance sum{0.0, 0.0}, all{0.0, 0.0};
  for_runs(placed, [&](const PlacedRun& run) {
    const double square = missed.row(run.row).segment(run.begin, run.count()).squaredNorm();
    sum.face += run.face() * square, sum.facet += run.facet * square;
    all.face += run.face() * run.count(), all.facet += run.facet * run.count();
  });
  return {.face = sum.face / std::max(all.face, 1.0) + kFloor,
          .facet = sum.facet / std::max(all.facet, 1.0) + kFloor};
}

double loss_of(const PlacedPatch& placed, const LevelsFit& fit) {
  double loss = 0.0;
  for_runs(placed, [&](const PlacedRun& run) {
    const double variance = fit.variance.of(run.facet);
    const double square = fit.missed.row(run.row).segment(run.begin, run.count()).squaredNorm();
    loss += 0.5 * (run.count() * std::log(variance) + square / variance);
  });
  return loss;
}

}  // namespace

LevelsFit fit_levels(const PlungePatch& patch, const PlacedPatch& placed) {
  constexpr int kRounds = 2;
  const PlungeLevels levels(patch, placed);
  LevelsFit fit{.missed = PlungeGrid(patch.rows(), patch.columns()), .variance = {}};
  for (int round = 0; round < kRounds; ++round) {
    levels.miss(levels.levels(fit.variance), fit.missed);
    fit.variance = variance_of(placed, fit.missed);
  }
  fit.loss = loss_of(placed, fit);
  return fit;
}

}  // namespace evenbevel::edge
