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

/// Variance of a sample's light on either side.
struct SideVariance {
  double face = 1.0, facet = 1.0;

  double of(double facet_share) const { return (1.0 - facet_share) * face + facet_share * facet; }
};

/// A place between two knots: how far it is from the first toward the second.
struct BetweenKnots {
  int knot = 0;
  double part = 0.0;

  static BetweenKnots at(double along_mm, const LevelCurve& curve, int knots) {
    const double place = along_mm / curve.knot_mm;
    const int knot = std::clamp(static_cast<int>(place), 0, knots - 2);
    return {knot, place - knot};
  }
  double of(const Eigen::VectorXd& levels) const {
    return (1.0 - part) * levels[knot] + part * levels[knot + 1];
  }
};

/// Neighbours in a row that lie between the same two knots, summed before they go into a matrix.
struct KnotRun {
  int knot = 0;
  double count = 0.0, part = 0.0, part_square = 0.0, light = 0.0, light_part = 0.0;

  void add(double sample_part, double sample_light) {
    count += 1.0;
    part += sample_part;
    part_square += sample_part * sample_part;
    light += sample_light;
    light_part += sample_light * sample_part;
  }
};

/// Where every level stands among the unknowns. A knot meets only those near it, so that both
/// curves' knots come first, in order along the blade; then what meets them all: the facet's slope
/// across and the face's rows.
class LevelPlaces {
 public:
  LevelPlaces(const PlungePatch& patch, const PlacedSamples& placed)
      : rows_(patch.rows), face_begin_mm_(patch.a_begin_mm) {
    // The facet's levels matter where there is facet; its knots stay where they are as that moves.
    const double last_mm = placed.along_mm.maxCoeff();
    const auto nowhere = Eigen::ArrayXd::Constant(placed.facet.size(), last_mm);
    const double facet_mm =
        (placed.facet.array() > 0.0).select(placed.along_mm.array(), nowhere).minCoeff();
    const double low_mm = placed.along_mm.minCoeff();
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

/// The samples' places on the curves of the sides that they show.
struct SamplesOnKnots {
  std::vector<BetweenKnots> face, facet;
  std::vector<std::size_t> mixed;  ///< Those that show both.

  SamplesOnKnots(const PlungePatch& patch, const PlacedSamples& placed, const LevelPlaces& places)
      : face(patch.samples.size()), facet(patch.samples.size()) {
    for (std::size_t i = 0; i < patch.samples.size(); ++i) {
      const auto index = static_cast<Eigen::Index>(i);
      const double share = placed.facet[index];
      if (share < 1.0) face[i] = places.on_face(patch.samples[i].a_mm);
      if (share > 0.0) facet[i] = places.on_facet(placed.along_mm[index]);
      if (share > 0.0 && share < 1.0) mixed.push_back(i);
    }
  }
};

/// Normal equations of least squares.
struct LevelSums {
  EnvelopeSystem matrix;
  Eigen::VectorXd right;

  LevelSums(const std::vector<int>& first, int border)
      : matrix(first, border), right(Eigen::VectorXd::Zero(matrix.size())) {}

  /// Samples between the levels `before` and `behind`, plus `factor` times a third, farther on.
  void add(const KnotRun& run, int before, int behind, int third, double factor) {
    matrix.at(before, before) += run.count - 2.0 * run.part + run.part_square;
    matrix.at(behind, before) += run.part - run.part_square;
    matrix.at(behind, behind) += run.part_square;
    matrix.at(third, before) += factor * (run.count - run.part);
    matrix.at(third, behind) += factor * run.part;
    matrix.at(third, third) += factor * factor * run.count;
    right[before] += run.light - run.light_part;
    right[behind] += run.light_part;
    right[third] += factor * run.light;
  }
  void add(const LevelSums& other, double weight) {
    matrix.add(other.matrix, weight);
    right += weight * other.right;
  }
};

/// Levels of both sides as one linear least squares problem: the face's rows and curve, the facet's
/// curve and slope across. What shows one side alone is summed once, whatever it is to weigh.
class PlungeLevels {
 public:
  PlungeLevels(const PlungePatch& patch, const PlacedSamples& placed)
      : patch_(patch),
        placed_(placed),
        places_(patch, placed),
        on_(patch, placed, places_),
        first_(envelope()),
        face_(first_, places_.border()),
        facet_(face_) {
    for (const PlungePatch::Sample& s : patch.samples) mean_ += s.light;
    mean_ /= static_cast<double>(patch.samples.size());
    sum_runs(0.0, on_.face, [&](const KnotRun& run, const PlungePatch::Sample& s) {
      face_.add(run, places_.face(run.knot), places_.face(run.knot + 1), places_.row(s.row), 1.0);
      face_count_ += run.count;
    });
    sum_runs(1.0, on_.facet, [&](const KnotRun& run, const PlungePatch::Sample& s) {
      facet_.add(run, places_.facet(run.knot), places_.facet(run.knot + 1), places_.slope(),
                 s.y_mm);
      facet_count_ += run.count;
    });
    for (const std::size_t i : on_.mixed) mixed_.push_back(mixed(i));
  }

  /// Of the levels that suit the samples best, each by its variance.
  Eigen::VectorXd residuals(const SideVariance& variance) const {
    LevelSums sums(first_, places_.border());
    sums.add(face_, 1.0 / variance.face);
    sums.add(facet_, 1.0 / variance.facet);
    double weights = face_count_ / variance.face + facet_count_ / variance.facet;
    for (const Mixed& sample : mixed_) {
      const auto index = static_cast<Eigen::Index>(sample.index);
      const double weight = 1.0 / variance.of(placed_.facet[index]);
      add_mixed(sums, sample, patch_.samples[sample.index].light, weight);
      weights += weight;
    }
    hold(sums.matrix, weights / static_cast<double>(patch_.samples.size()));
    sums.matrix.solve(sums.right);
    return missed_by(sums.right);
  }

 private:
  /// The first knot that each one meets.
  std::vector<int> envelope() const {
    std::vector<int> first(static_cast<std::size_t>(places_.curves()));
    std::iota(first.begin(), first.end(), 0);
    const auto meets = [&](int at, int earlier) {
      int& begin = first[static_cast<std::size_t>(at)];
      begin = std::min(begin, earlier);
    };
    for (int k = 1; k < places_.face_knots(); ++k)
      meets(places_.face(k), places_.face(std::max(k - 2, 0)));
    for (int k = 1; k < places_.facet_knots(); ++k)
      meets(places_.facet(k), places_.facet(std::max(k - 2, 0)));
    for (const std::size_t i : on_.mixed) {
      const int face = on_.face[i].knot, facet = on_.facet[i].knot;
      const int least = std::min(places_.face(face), places_.facet(facet));
      for (const int next : {0, 1}) {
        meets(places_.face(face + next), least);
        meets(places_.facet(facet + next), least);
      }
    }
    return first;
  }

  /// Of the samples with that share of facet, none or all. @param put  Takes each run, and the
  /// sample that it begins with.
  template <class Put>
  void sum_runs(double share, const std::vector<BetweenKnots>& on, const Put& put) const {
    KnotRun run;
    const PlungePatch::Sample* begin = nullptr;
    for (std::size_t i = 0; i < patch_.samples.size(); ++i) {
      if (placed_.facet[static_cast<Eigen::Index>(i)] != share) continue;
      const PlungePatch::Sample& s = patch_.samples[i];
      if (begin == nullptr || s.row != begin->row || on[i].knot != run.knot) {
        if (begin != nullptr) put(run, *begin);
        run = {.knot = on[i].knot};
        begin = &s;
      }
      run.add(on[i].part, s.light);
    }
    if (begin != nullptr) put(run, *begin);
  }

  /// A sample that shows both sides: the levels that its light is made of, in order of their
  /// places.
  struct Mixed {
    struct Term {
      int at;
      double factor;
    };
    std::size_t index;
    std::array<Term, 6> terms;
  };

  Mixed mixed(std::size_t i) const {
    const PlungePatch::Sample& s = patch_.samples[i];
    const BetweenKnots on_face = on_.face[i], on_facet = on_.facet[i];
    const double facet = placed_.facet[static_cast<Eigen::Index>(i)], face = 1.0 - facet;
    Mixed out{i,
              {{{places_.face(on_face.knot), face * (1.0 - on_face.part)},
                {places_.face(on_face.knot + 1), face * on_face.part},
                {places_.facet(on_facet.knot), facet * (1.0 - on_facet.part)},
                {places_.facet(on_facet.knot + 1), facet * on_facet.part},
                {places_.slope(), facet * s.y_mm},
                {places_.row(s.row), face}}}};
    std::sort(out.terms.begin(), out.terms.begin() + 4,
              [](const Mixed::Term& a, const Mixed::Term& b) { return a.at < b.at; });
    return out;
  }

  static void add_mixed(LevelSums& sums, const Mixed& sample, double light, double weight) {
    for (std::size_t k = 0; k < sample.terms.size(); ++k) {
      const auto [at, share] = sample.terms[k];
      const double factor = weight * share;
      sums.right[at] += factor * light;
      for (std::size_t m = 0; m <= k; ++m)
        sums.matrix.at(at, sample.terms[m].at) += factor * sample.terms[m].factor;
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

  Eigen::VectorXd missed_by(const Eigen::VectorXd& levels) const {
    Eigen::VectorXd face(places_.face_knots()), facet(places_.facet_knots());
    for (int k = 0; k < face.size(); ++k) face[k] = levels[places_.face(k)];
    for (int k = 0; k < facet.size(); ++k) facet[k] = levels[places_.facet(k)];
    const double slope = levels[places_.slope()];
    Eigen::VectorXd out(static_cast<Eigen::Index>(patch_.samples.size()));
    for (Eigen::Index i = 0; i < out.size(); ++i) {
      const auto at = static_cast<std::size_t>(i);
      const PlungePatch::Sample& s = patch_.samples[at];
      const double share = placed_.facet[i];
      out[i] = s.light;
      if (share < 1.0)
        out[i] -= (1.0 - share) * (levels[places_.row(s.row)] + on_.face[at].of(face));
      if (share > 0.0) out[i] -= share * (on_.facet[at].of(facet) + slope * s.y_mm);
    }
    return out;
  }

  const PlungePatch& patch_;
  const PlacedSamples& placed_;
  LevelPlaces places_;
  SamplesOnKnots on_;
  std::vector<int> first_;
  std::vector<Mixed> mixed_;
  LevelSums face_, facet_;  ///< Of the samples that show one side alone, at a weight of one.
  double face_count_ = 0.0, facet_count_ = 0.0;
  double mean_ = 0.0;  ///< Light.
};

/// What one side's scatter makes of a residual.
struct Scatter {
  double sigma, half_log;

  explicit Scatter(double variance)
      : sigma(std::sqrt(variance)), half_log(0.5 * std::log(variance)) {}
};

}  // namespace

PlungeMisfit levels_misfit(const PlungePatch& patch, const PlacedSamples& placed) {
  constexpr int kRounds = 2;
  constexpr double kFloor = kLeastScatter * kLeastScatter;
  const PlungeLevels levels(patch, placed);
  const Eigen::ArrayXd facet = placed.facet.array(), face = 1.0 - facet;
  const double all_face = std::max(face.sum(), 1.0), all_facet = std::max(facet.sum(), 1.0);
  SideVariance variance;
  Eigen::VectorXd residuals;
  for (int round = 0; round < kRounds; ++round) {
    residuals = levels.residuals(variance);
    const Eigen::ArrayXd square = residuals.array().square();
    variance = {.face = (face * square).sum() / all_face + kFloor,
                .facet = (facet * square).sum() / all_facet + kFloor};
  }
  const Scatter of_face(variance.face), of_facet(variance.facet);
  PlungeMisfit out{Eigen::VectorXd(residuals.size()), Eigen::VectorXd(residuals.size())};
  for (Eigen::Index i = 0; i < residuals.size(); ++i) {
    const double share = facet[i];
    const Scatter scatter = share <= 0.0   ? of_face
                            : share >= 1.0 ? of_facet
                                           : Scatter(variance.of(share));
    out.residuals[i] = residuals[i] / scatter.sigma;
    out.loss[i] = scatter.half_log + 0.5 * out.residuals[i] * out.residuals[i];
  }
  return out;
}

}  // namespace evenbevel::edge
