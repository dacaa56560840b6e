#pragma once

#include <optional>

#include "flat_face.hpp"

namespace evenbevel::finish {

/// A structure tensor: which way light changes least.
/// Source: J. Bigun, G. H. Granlund, First International Conference on Computer Vision (1987),
/// 433-438.
struct StructureTensor {
  double xx = 0.0, xy = 0.0, yy = 0.0;  ///< Of the gradient; y down, as the rows.

  double direction_rad() const;  ///< Of the lines, from x toward z (up).
  double coherence() const;      ///< 0: any direction; 1: one alone.
};

/// Mean over what the mask holds (CV_8UC1, 0 left out) of the gradients' directions, strong and
/// weak ones alike.
StructureTensor structure_tensor(const cv::Mat& light, const cv::Mat& mask);

/// Shortest over longest length at which the autocorrelation has fallen to 0.2 (Str of ISO
/// 25178-2, of this picture). Empty: along the lay it does not fall that far within a quarter of
/// the picture, or there is nothing in it.
std::optional<double> direction_ratio(const cv::Mat& light);

/// Of the whole surface, block by block, all photos together.
Lay lay_of(const FlatFace& face, Surface surface);

}  // namespace evenbevel::finish
