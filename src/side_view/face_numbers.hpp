#pragma once

#include <optional>
#include <vector>

#include "evenbevel/fit.hpp"
#include "face_reading.hpp"
#include "plunge_fit.hpp"

namespace evenbevel::side {

/// What is not scatter: how far borders may stand off their true place, scale, heights.
struct Terms {
  double border_mm = 0.0;    ///< A border as the picture draws it: light, blur, sharpening.
  double edge_mm = 0.0;      ///< The same of the outline.
  double scale = 0.0;        ///< Relative: the print's size.
  double lens = 0.0;         ///< Relative: lens and pose, over a blade's height.
  double parallax_mm = 0.0;  ///< Edge and face lie at different heights.
};
Terms terms_of(const FaceReading& reading, const SideSettings& settings);

/// Of what the print leaves unknown; alike in both photos.
inline constexpr const char* kPrintScale = "print scale";

/// The face's own numbers along the blade.
class FaceNumbers {
 public:
  FaceNumbers(const FaceReading& reading, const SideSettings& settings);

  const FaceReading& reading() const { return *reading_; }
  const Terms& terms() const { return terms_; }

  struct At {
    std::optional<double> edge_mm, spine_mm, bevel_mm;  ///< z.
    double bevel_u_mm = 0.0, outline_u_mm = 0.0;        ///< Scatter.
    double bevel_dof = 0.0;
    double slope_difference = 0.0;  ///< Of bevel line and edge: what an error along x costs.
  };
  At at(double x_mm) const;

  std::optional<Measured> bevel_height(double x_mm) const;
  std::optional<Measured> spine_to_bevel(double x_mm) const;
  std::optional<Measured> blade_height(double x_mm) const;
  /// atan of what the bevel drops over its height. Empty without the land.
  std::optional<Measured> bevel_angle(double x_mm) const;
  std::optional<Measured> straightness() const;

  double first_mm() const;
  double last_mm() const;
  const PlungeFit& plunge() const { return plunge_; }
  /// Of the bevel's foot under the flat; empty without the land.
  std::optional<double> depth_mm() const;

 private:
  const FaceReading* reading_;
  const SideSettings* settings_;
  Terms terms_;
  std::optional<SmoothCurve> bevel_;
  PlungeFit plunge_;
};

}  // namespace evenbevel::side
