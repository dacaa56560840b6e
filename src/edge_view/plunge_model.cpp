#include <algorithm>
#include <array>
#include <cmath>
#include <functional>

#include <Eigen/Cholesky>

#include "plunge_outline.hpp"

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

/// How much of a sample is facet, and where along it.
struct Placed {
  Eigen::VectorXd facet, along_mm;
};

double normal_share(double z) {
  constexpr double kFar = 5.0;  // From there on it is nothing or all, to 3e-7.
  if (std::abs(z) > kFar) return z > 0.0 ? 1.0 : 0.0;
  return 0.5 * std::erfc(-z / std::sqrt(2.0));
}

/// A place between two knots.
struct Between {
  int knot;
  double part;
};

/// Levels of both sides as one linear least squares problem: the face's rows and curve, the facet's
/// curve and slope across.
class Levels {
 public:
  Levels(const PlungePatch& patch, const Placed& placed) : patch_(patch) {
    for (const PlungePatch::Sample& s : patch.samples) mean_ += s.light;
    mean_ /= static_cast<double>(patch.samples.size());
    // The facet's levels matter where there is facet; its knots stay where they are as that moves.
    const auto nowhere = Eigen::ArrayXd::Constant(placed.facet.size(), placed.along_mm.maxCoeff());
    const double facet_mm =
        (placed.facet.array() > 0.0).select(placed.along_mm.array(), nowhere).minCoeff();
    low_mm_ = placed.along_mm.minCoeff();
    low_mm_ += kFacetCurve.knot_mm * std::floor((facet_mm - low_mm_) / kFacetCurve.knot_mm);
    face_knots_ = static_cast<int>((patch.a_end_mm - patch.a_begin_mm) / kFaceCurve.knot_mm) + 2;
    facet_knots_ =
        static_cast<int>((placed.along_mm.maxCoeff() - low_mm_) / kFacetCurve.knot_mm) + 2;
    terms_.reserve(patch.samples.size());
    for (std::size_t i = 0; i < patch.samples.size(); ++i) terms_.push_back(terms_of(placed, i));
  }

  /// Residuals of the best levels.
  Eigen::VectorXd residuals(const Eigen::VectorXd& weights) const {
    const int size = facet_first() + facet_knots_ + 1;
    Eigen::MatrixXd normal = Eigen::MatrixXd::Zero(size, size);
    Eigen::VectorXd right = Eigen::VectorXd::Zero(size);
    for (std::size_t i = 0; i < patch_.samples.size(); ++i) {
      const Terms& terms = terms_[i];
      const double w = weights[static_cast<Eigen::Index>(i)];
      for (int k = terms.begin; k < terms.end; ++k) {
        right[terms.at[k]] += w * terms.factor[k] * patch_.samples[i].light;
        for (int m = terms.begin; m <= k; ++m) {  // Each term's place lies after those before it.
          normal(terms.at[k], terms.at[m]) += w * terms.factor[k] * terms.factor[m];
        }
      }
    }
    hold(normal, weights.mean());
    const Eigen::VectorXd levels = normal.selfadjointView<Eigen::Lower>().llt().solve(right);
    Eigen::VectorXd out(static_cast<Eigen::Index>(patch_.samples.size()));
    for (std::size_t i = 0; i < patch_.samples.size(); ++i) {
      const Terms& terms = terms_[i];
      double model = 0.0;
      for (int k = terms.begin; k < terms.end; ++k) model += terms.factor[k] * levels[terms.at[k]];
      out[static_cast<Eigen::Index>(i)] = patch_.samples[i].light - model;
    }
    return out;
  }

 private:
  /// Three of the face, three of the facet; away from the border only one side's count.
  struct Terms {
    int begin, end;
    std::array<int, 6> at;
    std::array<double, 6> factor;
  };

  int face_first() const { return patch_.rows; }
  int facet_first() const { return patch_.rows + face_knots_; }

  static Between between(double along_mm, const LevelCurve& curve, int knots) {
    const double at = along_mm / curve.knot_mm;
    const int knot = std::clamp(static_cast<int>(at), 0, knots - 2);
    return {knot, at - knot};
  }

  Terms terms_of(const Placed& placed, std::size_t i) const {
    const PlungePatch::Sample& s = patch_.samples[i];
    const auto index = static_cast<Eigen::Index>(i);
    const double facet = placed.facet[index], face = 1.0 - facet;
    const Between on_face = between(s.a_mm - patch_.a_begin_mm, kFaceCurve, face_knots_);
    const Between on_facet =
        between(std::max(placed.along_mm[index] - low_mm_, 0.0), kFacetCurve, facet_knots_);
    const int f = face_first() + on_face.knot, g = facet_first() + on_facet.knot;
    return {facet < 1.0 ? 0 : 3,
            facet > 0.0 ? 6 : 3,
            {s.row, f, f + 1, g, g + 1, facet_first() + facet_knots_},
            {face, face * (1.0 - on_face.part), face * on_face.part, facet * (1.0 - on_facet.part),
             facet * on_facet.part, facet * s.y_mm}};
  }

  void hold_curve(Eigen::MatrixXd& normal, int first, int knots, double stiff) const {
    constexpr double kDifference[3] = {1.0, -2.0, 1.0};
    for (int k = first; k + 2 < first + knots; ++k) {
      for (int a = 0; a < 3; ++a) {
        for (int b = 0; b <= a; ++b)
          normal(k + a, k + b) += stiff * kDifference[a] * kDifference[b];
      }
    }
  }

  /// Curves are smooth, and no level is free where nothing is seen.
  void hold(Eigen::MatrixXd& normal, double weight) const {
    constexpr double kNoise = 0.01;  // Usual scatter of a sample, of full scale.
    const auto stiff = [&](const LevelCurve& curve) {
      const double bend = curve.bend_share * std::max(mean_, 0.02) / kNoise;
      return weight / (bend * bend);
    };
    hold_curve(normal, face_first(), face_knots_, stiff(kFaceCurve));
    hold_curve(normal, facet_first(), facet_knots_, stiff(kFacetCurve));
    normal.diagonal().array() += 1e-5 * weight;
  }

  const PlungePatch& patch_;
  std::vector<Terms> terms_;
  double mean_ = 0.0, low_mm_ = 0.0;
  int face_knots_ = 0, facet_knots_ = 0;
};

PlungeMisfit misfit_of(const PlungePatch& patch, const Placed& placed) {
  constexpr int kRounds = 2;
  const Levels levels(patch, placed);
  const Eigen::ArrayXd facet = placed.facet.array(), face = 1.0 - facet;
  Eigen::ArrayXd variance = Eigen::ArrayXd::Ones(facet.size());
  Eigen::VectorXd residuals;
  for (int round = 0; round < kRounds; ++round) {
    residuals = levels.residuals(variance.inverse().matrix());
    const Eigen::ArrayXd square = residuals.array().square();
    constexpr double kFloor = kLeastScatter * kLeastScatter;
    const double of_face = (face * square).sum() / std::max(face.sum(), 1.0) + kFloor;
    const double of_facet = (facet * square).sum() / std::max(facet.sum(), 1.0) + kFloor;
    variance = face * of_face + facet * of_facet;
  }
  PlungeMisfit out;
  out.residuals = (residuals.array() / variance.sqrt()).matrix();
  out.loss = (0.5 * variance.log() + 0.5 * out.residuals.array().square()).matrix();
  return out;
}

Placed place(const PlungePatch& patch, const PlungeOutline& outline,
             const std::function<double(double, double)>& inside_mm) {
  const auto count = static_cast<Eigen::Index>(patch.samples.size());
  Placed placed{Eigen::VectorXd(count), Eigen::VectorXd(count)};
  for (Eigen::Index i = 0; i < count; ++i) {
    const PlungePatch::Sample& s = patch.samples[static_cast<std::size_t>(i)];
    placed.facet[i] = normal_share(inside_mm(s.a_mm, s.y_mm) / outline.blur_mm);
    placed.along_mm[i] = s.a_mm + outline.lean * (outline.depth_mm - s.y_mm);
  }
  return placed;
}

/// Along the blade from where the arc has risen to its end.
double run_mm(double radius_mm, double rise_mm) {
  const double rest = radius_mm - rise_mm;
  return std::sqrt(std::max(0.0, radius_mm * radius_mm - rest * rest));
}

}  // namespace

PlungePatch PlungePatch::between(double from_mm, double to_mm) const {
  PlungePatch part;
  part.rows = rows;
  part.a_begin_mm = std::max(from_mm, a_begin_mm), part.a_end_mm = std::min(to_mm, a_end_mm);
  for (const Sample& s : samples) {
    if (s.a_mm >= part.a_begin_mm && s.a_mm <= part.a_end_mm) part.samples.push_back(s);
  }
  part.columns = static_cast<int>(part.samples.size()) / std::max(rows, 1);
  return part;
}

PlungePatch PlungePatch::halved() const {
  PlungePatch half;
  half.rows = rows, half.columns = columns / 2;
  half.a_begin_mm = a_begin_mm, half.a_end_mm = a_end_mm;
  for (int r = 0; r < rows; ++r) {
    for (int c = 0; c < half.columns; ++c) {
      const auto index = static_cast<std::size_t>(r * columns + 2 * c);
      const Sample &a = samples[index], &b = samples[index + 1];
      half.samples.push_back({0.5 * (a.a_mm + b.a_mm), a.y_mm, a.row, 0.5 * (a.light + b.light)});
    }
  }
  return half;
}

double PlungeOutline::end_mm() const { return half_mm + run_mm(radius_mm, 0.5 * depth_mm); }

double PlungeOutline::start_mm() const { return end_mm() - run_mm(radius_mm, depth_mm); }

double PlungeOutline::run_at_half() const {
  return (radius_mm - 0.5 * depth_mm) / run_mm(radius_mm, 0.5 * depth_mm);
}

double PlungeOutline::inside_mm(double a_mm, double y_mm) const {
  const double end = end_mm();
  if (a_mm >= end) return depth_mm - y_mm;
  const double above = y_mm - (depth_mm - radius_mm);  // The arc's centre lies outside of the rim.
  if (above <= 0.0) return a_mm - (end - radius_mm);
  return radius_mm - std::hypot(a_mm - end, above);
}

PlungeMisfit plunge_misfit(const PlungePatch& patch, const PlungeOutline& outline) {
  return misfit_of(
      patch, place(patch, outline, [&](double a, double y) { return outline.inside_mm(a, y); }));
}

PlungeMisfit straight_misfit(const PlungePatch& patch, const PlungeOutline& outline, double cut_mm,
                             double cut_lean) {
  return misfit_of(patch, place(patch, outline, [&](double a, double y) {
                     return std::min(a - cut_mm - cut_lean * y, outline.depth_mm - y);
                   }));
}

}  // namespace evenbevel::edge
