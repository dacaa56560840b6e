#pragma once

#include <array>

namespace evenbevel::edges {

/// A curve along the blade as a sum of fixed functions: a straight line, or cubic B-splines on
/// equal knots.
class Basis {
 public:
  static Basis constant();
  static Basis line(double begin_mm, double end_mm);
  static Basis smooth(double begin_mm, double end_mm, double knots_mm);

  /// The functions that differ from zero at one place.
  struct Weights {
    int first = 0, count = 0;
    std::array<double, 4> value{}, slope{};  ///< Slope per mm.
  };
  /// Lines go on beyond their ends, smooth curves stand still there.
  Weights at(double s_mm) const;

  int count() const { return degree_ + pieces_; }
  double begin_mm() const { return begin_; }
  double end_mm() const { return begin_ + spacing_ * pieces_; }

 private:
  Basis(int degree, int pieces, double begin, double spacing)
      : degree_(degree), pieces_(pieces), begin_(begin), spacing_(spacing) {}

  int degree_, pieces_;
  double begin_, spacing_;
};

}  // namespace evenbevel::edges
