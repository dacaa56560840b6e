#pragma once

#include <initializer_list>
#include <optional>
#include <span>
#include <string_view>

#include <Eigen/Core>

namespace evenbevel {

constexpr int kMostLensCoefficients = 5;  ///< Of any lens model: their vectors need no heap.
using LensCoefficients =
    Eigen::Matrix<double, Eigen::Dynamic, 1, Eigen::ColMajor, kMostLensCoefficients, 1>;

/// One coefficient of a lens model, and what is held possible of it before a photo is looked at.
struct LensCoefficient {
  std::string_view name;      ///< As the model's source has it: "k1".
  double u_calibrated = 0.0;  ///< Standard uncertainty after a dozen photos of a printed card.
  double u_unknown = 0.0;     ///< Of a lens of which nothing is known.
  /// One unit moves a point at radius r of the picture (in focal lengths) by r to this power, as a
  /// share of r; 0: not along the radius.
  int power = 0;
  /// Share of the picture's half diagonal by which lenses usually move its farthest corner: a
  /// calibration holds the coefficient that softly at 0. 0: it is not held.
  double usual_share = 0.0;
};

/// How a kind of lens bends the picture that a pinhole would show, by a few coefficients: a map of
/// the plane at distance 1 before the camera. What all cameras have, focal lengths and principal
/// point, is the camera's. Half the angle of view stays below 90 degrees.
///
/// One source file in `src/camera/` each, and a line in `lens_models.cpp`.
class LensModel {
 public:
  struct Bent {
    Eigen::Vector2d xy;
    Eigen::Matrix2d d_xy;  ///< By the straight point.
    Eigen::Matrix<double, 2, Eigen::Dynamic, Eigen::ColMajor, 2, kMostLensCoefficients>
        d_coefficients;
  };

  virtual std::string_view name() const = 0;  ///< As camera files and `calibrate --lens` have it.
  virtual std::span<const LensCoefficient> coefficients() const = 0;
  /// A camera file may leave out the coefficients after these: they are 0.
  virtual int fewest_in_file() const = 0;
  /// Focal lengths to start a calibration from when the photos' perspective does not tell, in long
  /// sides of the picture.
  virtual std::span<const double> focal_starts() const = 0;
  /// Whether the lens is a pinhole when all coefficients are 0.
  virtual bool straight_without_coefficients() const = 0;

  virtual Eigen::Vector2d bend(const LensCoefficients& values,
                               const Eigen::Vector2d& straight) const = 0;
  virtual Bent bend_with_derivatives(const LensCoefficients& values,
                                     const Eigen::Vector2d& straight) const = 0;
  /// Undoes `bend` to 1e-12. Empty: no point on the branch that holds the picture's centre.
  virtual std::optional<Eigen::Vector2d> straighten(const LensCoefficients& values,
                                                    const Eigen::Vector2d& bent) const = 0;

 protected:
  ~LensModel() = default;
};

/// All models; the first is what a camera file means that names none.
std::span<const LensModel* const> lens_models();

/// Null: there is no such model.
const LensModel* find_lens_model(std::string_view name);

/// A lens model with its coefficients' values. By itself a pinhole without distortion.
class Lens {
 public:
  Lens() : Lens(*lens_models().front()) {}
  explicit Lens(const LensModel& model);  ///< All coefficients 0.

  /// @param values  In the model's order; those left out are 0.
  /// @pre There is such a model, with so many coefficients.
  Lens(std::string_view model, std::initializer_list<double> values);

  const LensModel& model() const { return *model_; }
  const LensCoefficients& values() const { return values_; }
  int size() const { return static_cast<int>(values_.size()); }
  double operator[](int i) const { return values_(i); }
  double& operator[](int i) { return values_(i); }

  bool operator==(const Lens& other) const {
    return model_ == other.model_ && values_ == other.values_;
  }

 private:
  const LensModel* model_;
  LensCoefficients values_;
};

}  // namespace evenbevel
