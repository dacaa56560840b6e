#pragma once

#include <limits>
#include <span>
#include <vector>

#include <Eigen/Core>
#include <opencv2/core/mat.hpp>

namespace evenbevel {

// Sub-pixel location of steps, lines and narrow strips in one-dimensional profiles.
//
// A profile is what the camera saw along a line across an edge, in linear light. It is modelled as
// a sum of blurred parts seen through square pixels, and all of its borders are fitted together,
// because borders closer than a few blur widths pull each other. Fitting the right model by least
// squares reaches the Cramer-Rao bound (R. Kakarala, A. Hero, IEEE PAMI 14 (1992) 777-781).

/// Linear light (0..1) of an sRGB-encoded value (0..1), IEC 61966-2-1.
double linear_light(double encoded);

/// The same for every pixel. @param encoded  CV_8UC1 or CV_16UC1. @return  CV_32FC1, 0..1.
cv::Mat linear_light(const cv::Mat& encoded);

/// Encoded value from which on a sample is only a lower bound: tone curves flatten before white.
inline constexpr double kClipEncoded = 245.0 / 255.0;

/// A unit step at 0 blurred by a Gaussian and integrated over the pixel centred at t_px:
/// sigma [G((t + 1/2) / sigma) - G((t - 1/2) / sigma)], G(u) = u Phi(u) + phi(u).
double blurred_step(double t_px, double blur_px);

struct ProfileSample {
  double t_px = 0.0;    ///< Position across; pixel centre.
  double value = 0.0;   ///< Linear light.
  double weight = 1.0;  ///< Relative inverse variance.
};

/// One part of a profile. `position` is an index into ProfileModel::positions_px, so that parts
/// can share a position; `offset_px` is fixed relative to it.
struct ProfilePart {
  enum class Shape {
    step,   ///< Rises by `amplitude` at its position, toward larger t.
    line,   ///< `amplitude` over `width_px`, centred on its position.
    slope,  ///< `amplitude` per px, zero at its position; not blurred.
  };
  Shape shape = Shape::step;
  int position = 0;
  double offset_px = 0.0;
  double width_px = 0.0;
  double amplitude = 0.0;
};

/// A part of unit amplitude seen at a distance from its position, and how that changes with the
/// position and the blur.
struct PartResponse {
  double value = 0.0, d_position = 0.0, d_blur = 0.0;
};
PartResponse part_response(const ProfilePart& part, double t_px, double blur_px);

struct ProfileModel {
  std::vector<double> positions_px;
  std::vector<ProfilePart> parts;
  double background = 0.0;  ///< Level at t = -infinity, slopes apart.
  double blur_px = 1.0;     ///< Gaussian sigma, without the pixel's own box.
  bool blur_is_free = false;
  double least_blur_px = 0.2, most_blur_px = 20.0;  ///< Limits of a free blur.
  /// Linear light at which the sensor or the tone curve stops: a sample there is a lower bound.
  double clip = std::numeric_limits<double>::infinity();

  double value(double t_px) const;
};

struct ProfileFit {
  ProfileModel model;
  /// Of positions_px, then blur_px if free; scaled by the residual scatter.
  Eigen::MatrixXd covariance;
  double rms = 0.0;     ///< Weighted residual, linear light.
  double misfit = 0.0;  ///< Sum of weighted squared residuals, robust weights not applied.
  int samples = 0;
  bool converged = false;  ///< False: the numbers mean nothing.

  double u_px(int position) const;
};

/// Least squares (Levenberg-Marquardt) from the start model; amplitudes are found, their start
/// values are ignored. Huber weights beyond 2.5 robust sigmas keep dust and specks from pulling.
ProfileFit fit_profile(std::span<const ProfileSample> samples, ProfileModel start);

/// One step near `start_px`.
ProfileFit fit_step(std::span<const ProfileSample> samples, double start_px, double blur_px,
                    bool blur_is_free = true);

/// Two steps bounding a strip (a land) between the two start positions.
ProfileFit fit_strip(std::span<const ProfileSample> samples, double first_px, double second_px,
                     double blur_px);

/// One line of known width.
ProfileFit fit_line_profile(std::span<const ProfileSample> samples, double start_px,
                            double width_px, double blur_px, bool blur_is_free = false);

/// Two lines of known, equal width, a few px apart: one joint model.
ProfileFit fit_line_pair(std::span<const ProfileSample> samples, double first_px, double second_px,
                         double width_px, double blur_px);

/// Local extrema of a sampled function, refined by a parabola.
struct Peak {
  double index = 0.0;
  double value = 0.0;
};
std::vector<Peak> local_maxima(std::span<const float> values, float at_least);

}  // namespace evenbevel
