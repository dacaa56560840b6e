#pragma once

#include <vector>

#include <Eigen/Core>

#include "plane_pose.hpp"

namespace evenbevel {

/// What is held possible before the photo is looked at, as standard uncertainties.
struct LensPrior {
  LensMatrix lens{};     ///< Covariance.
  double stretch = 0.0;  ///< Of the print's scale along over that across.
  double sag_mm = 0.0;   ///< Of the sheet, 100 mm from its middle.
};

/// What a card's corners depend on besides its pose: the lens's parameters in their order, the
/// print's stretch, the sheet's three bends.
struct SheetInputs {
  static constexpr int kBends = 3, kMost = kMostLensParameters + 1 + kBends;
  int lens = 0;  ///< Number of its parameters.

  int stretch() const { return lens; }
  int bends() const { return lens + 1; }
  int count() const { return bends() + kBends; }
};
using InputsMatrix = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::ColMajor,
                                   SheetInputs::kMost, SheetInputs::kMost>;

/// A card's corners explained by pose, lens, print and the sheet's shape together.
struct LensFit {
  CameraModel camera;  ///< With its covariance after the photo was looked at.
  Transform<Camera, Card> T_camera_card;
  double stretch = 0.0;
  Eigen::Vector3d bends = Eigen::Vector3d::Zero();  ///< (a, b, c) of z = a x^2 + b x y + c y^2.
  InputsMatrix covariance;                          ///< Of `SheetInputs`.
  double scatter_px = 0.0;                          ///< Robust, of the corners.
};

/// x^2, x y, y^2: what each bend lifts a point of the sheet by.
Eigen::RowVector3d bend_terms(const Eigen::Vector3d& p_mm);

/// The corners where the fit has them on the print: stretched (longer along, shorter across by half
/// of it each) and lifted by the bends.
std::vector<CardSighting> on_sheet(const std::vector<CardSighting>& sightings, const LensFit& fit);

/// Most probable pose, lens, stretch and bend of the sheet under the priors, by Huber's weights and
/// Levenberg and Marquardt's steps. A print stretched by a thousandth, a sheet that sags by a tenth
/// of a mm and a principal point 20 px away move the corners alike, by hundredths of a pixel: free
/// together, they share what is seen by what is held possible of each.
///
/// @param file  Mean of the prior.
/// @pre At least 8 sightings, in front of the camera at T_start.
LensFit fit_lens(const CameraModel& file, const LensPrior& prior,
                 const std::vector<CardSighting>& sightings,
                 const Transform<Camera, Card>& T_start);

}  // namespace evenbevel
