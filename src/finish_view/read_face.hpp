#pragma once

#include <optional>
#include <span>
#include <vector>

#include "evenbevel/finish_view.hpp"
#include "side_view/face_reading.hpp"

namespace evenbevel::finish {

/// One photo, with the card that registers it.
struct SeenPhoto {
  const Photo* photo = nullptr;
  CameraModel camera;
  CardPose pose;
  int corners = 0;
  double softness_px = 0.0;
  side::FacePlane plane;  ///< The blade's, seen by this camera.
};

/// How a blade lies, read in the photo that shows its outline best.
struct LyingFace {
  side::FaceReading reading;
  side::Curve edge = {}, spine = {};            ///< Without short gaps.
  side::Curve bevel = {};                       ///< Empty: no bevel line seen.
  std::vector<Eigen::Vector2d> plunge_mm = {};  ///< From the edge up; empty: none seen.
  /// Where else bevel line and plunge line may glint; no border is drawn by these.
  std::vector<Eigen::Vector2d> glints_mm = {}, plunge_glints_mm = {};
  std::vector<SeenPhoto> photos = {};
  double u_place_mm = 0.0;  ///< From card, thickness and outline; standard uncertainty.

  /// Where flat and bevel part is known: bevel line and plunge line were both seen.
  bool parted() const { return !bevel.z_mm.empty() && !plunge_mm.empty(); }
  bool on_bevel(const Eigen::Vector2d& xz_mm) const;
  /// Of the surface that is seen, over the card.
  double height(const Eigen::Vector2d& xz_mm) const;
  Eigen::Vector2d pixel(const Eigen::Vector2d& xz_mm, std::size_t photo) const;
};

/// @throws Error  As finish_view.
LyingFace read_lying_face(std::span<const FinishPhoto> photos, const FinishSettings& settings);

}  // namespace evenbevel::finish
