#pragma once

#include <optional>
#include <span>
#include <vector>

#include <opencv2/core/mat.hpp>

#include "lamp.hpp"
#include "read_face.hpp"

namespace evenbevel::finish {

/// The blade frame's rectangle around a face, sampled as finely as the photos are: columns along x,
/// rows down from the spine's side.
struct FlatGrid {
  double left_mm = 0.0, top_mm = 0.0, step_mm = 0.1;
  int columns = 0, rows = 0;

  Eigen::Vector2d mm(const Eigen::Vector2d& at) const {
    return {left_mm + at.x() * step_mm, top_mm - at.y() * step_mm};
  }
  Eigen::Vector2d px(const Eigen::Vector2d& xz_mm) const {
    return {(xz_mm.x() - left_mm) / step_mm, (top_mm - xz_mm.y()) / step_mm};
  }
};

/// Of the face's pixels, what is looked at: 0 not, 1 the flat, 2 the bevel.
enum Surface : uchar { kNotLookedAt = 0, kFlat = 1, kBevel = 2 };

/// One photo of the face, laid flat.
struct FlatPhoto {
  cv::Mat light;  ///< CV_32FC1: light over that around it, less 1; goes on evenly beyond what is
                  ///< looked at.
  cv::Mat blown;  ///< CV_8UC1: the light around is at the end of the range.
  cv::Mat dark;   ///< CV_8UC1: the light around is lost in the noise.
  cv::Mat level;  ///< CV_32FC1: the light around, beside the paper's.
  double blur_px = 1.0;
  std::optional<LampPlace> lamp;  ///< Azimuth in the blade frame, from x toward z.
};

struct FlatFace {
  FlatGrid grid;
  cv::Mat whole;    ///< CV_8UC1, Surface: the face up to its outline, left-out parts aside.
  cv::Mat surface;  ///< CV_8UC1, Surface: less what lies too near to outline, bevel line, plunge.
  std::vector<FlatPhoto> photos;
};

FlatFace lay_flat(const LyingFace& face, std::span<const FacePart> left_out);

}  // namespace evenbevel::finish
