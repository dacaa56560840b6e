#include <algorithm>
#include <cmath>
#include <string>

#include <Eigen/Dense>

#include "bend.hpp"
#include "evenbevel/card.hpp"
#include "evenbevel/error.hpp"
#include "photo_lens.hpp"
#include "pose_fit.hpp"
#include "units/fixed.hpp"

namespace evenbevel {
namespace {

// A card glued on board: how far it is from flat, 100 mm from its middle (common practice, no
// source). More than `require_flat` allows is refused anyway.
constexpr double kSagU_mm = 0.2;
constexpr double kClearly = 1.5;  // Of two misfits, the larger over the smaller.
constexpr double kNoise = 2.0;    // Standard uncertainties up to which a change is noise.

LensPrior any_lens(const CameraModel& camera, double stretch_u) {
  return {.lens = covariance_of_any_lens(camera), .stretch = stretch_u, .sag_mm = kSagU_mm};
}

/// What the camera file would have to be wrong by, in words; empty when a lens that moved is
/// enough.
std::string otherness(const CameraModel& file, const LensFit& fit, double sure) {
  constexpr double kFocal = 0.06, kCentre = 4.0, kDistortion = 4.0;
  const LensMatrix covariance = covariance_in_photo(file);
  const LensVector change = parameters(fit.camera) - parameters(file);
  const LensVector u_left = fit.covariance.diagonal().head(parameter_count(file)).cwiseSqrt();
  const double focal = change(kFocalAt) / file.focal_px.x();
  if (std::abs(focal) > kFocal + sure * u_left(kFocalAt) / file.focal_px.x()) {
    return "a focal length " + fixed(100.0 * std::abs(focal), 0) + " % " +
           (focal > 0.0 ? "longer" : "shorter");
  }
  const double centre = change.segment<2>(kCentreAt).norm();
  if (centre > kCentre * std::sqrt(covariance(kCentreAt, kCentreAt)) +
                   sure * u_left.segment<2>(kCentreAt).maxCoeff()) {
    return "a principal point " + fixed(centre, 0) + " px away";
  }
  for (int i = kCoefficientsAt; i < parameter_count(file); ++i) {
    if (std::abs(change(i)) > kDistortion * std::sqrt(covariance(i, i)) + sure * u_left(i)) {
      return "another distortion";
    }
  }
  return {};
}

[[noreturn]] void fail_other_lens(const CameraModel& file, CardKind kind, const std::string& how) {
  const std::string where = file.file.empty() ? "the camera model" : "camera file " + file.file;
  throw Error(where + " is of another lens: the corners of " + card_name(kind) + " ask for " + how,
              "calibrate this camera with this lens and zoom ('evenbevel calibrate'), or give no "
              "camera file; if the file is right, lay the card flat and take the photo again");
}

/// A lens bends the picture of a flat card, and a bent card bends it otherwise: the one that leaves
/// less of the misses is the cause.
LensPrior with_any_bend(LensPrior prior) {
  prior.sag_mm = 20.0;
  return prior;
}

bool bend_fits_as_well(const CameraModel& file, const LensPrior& prior,
                       const std::vector<CardSighting>& sightings,
                       const Transform<Camera, Card>& T) {
  return fit_lens(file, with_any_bend(prior), sightings, T).scatter_px <=
         fit_lens(file, any_lens(file, prior.stretch), sightings, T).scatter_px * kClearly;
}

/// A moved lens is found by its prior; another lens only by letting it be any, and then its corners
/// must fit clearly better.
void require_this_lens(const FoundCard& card, const CameraModel& file, const LensFit& fit,
                       const std::vector<CardSighting>& sightings, double stretch_u) {
  constexpr double kSure = 3.0;
  if (file.guessed) return;
  if (const std::string how = otherness(file, fit, 0.0); !how.empty()) {
    fail_other_lens(file, card.kind, how);
  }
  const LensFit any = fit_lens(file, any_lens(file, stretch_u), sightings, fit.T_camera_card);
  if (fit.scatter_px < kClearly * any.scatter_px) return;
  if (const std::string how = otherness(file, any, kSure); !how.empty()) {
    fail_other_lens(file, card.kind, how);
  }
}

LensChange change_of(const CameraModel& file, const LensFit& fit) {
  LensChange out;
  out.all = parameters(fit.camera) - parameters(file);
  if (file.guessed) return out;
  out.focal = fit.camera.focal_px.x() / file.focal_px.x() - 1.0;
  out.focal_u = std::sqrt(std::max(fit.covariance(kFocalAt, kFocalAt), 0.0)) / file.focal_px.x();
  out.centre_px = fit.camera.centre_px - file.centre_px;
  out.centre_covariance = fit.covariance.block<2, 2>(kCentreAt, kCentreAt);
  return out;
}

}  // namespace

bool LensChange::focal_seen() const { return std::abs(focal) > kNoise * focal_u; }

bool LensChange::centre_seen() const {
  const double size = centre_px.norm();
  if (size == 0.0) return false;
  const Eigen::Vector2d toward = centre_px / size;
  return size > kNoise * std::sqrt(toward.dot(centre_covariance * toward));
}

CameraModel lens_in_photo(const CameraModel& file, const CardPose& pose) {
  return pose.lens.all.size() == 0 ? file : moved_lens(file, pose.lens.all);
}

std::optional<Remark> lens_note(const LensChange& lens) {
  const bool centre = lens.centre_seen(), focal = lens.focal_seen(), longer = lens.focal > 0.0;
  const double centre_px = lens.centre_px.norm(), percent = 100.0 * std::abs(lens.focal);
  if (centre && focal && longer) {
    return remark<RemarkCode::lens_centre_moved_and_longer>(centre_px, percent);
  }
  if (centre && focal) return remark<RemarkCode::lens_centre_moved_and_shorter>(centre_px, percent);
  if (centre) return remark<RemarkCode::lens_centre_moved>(centre_px);
  if (focal && longer) return remark<RemarkCode::lens_longer>(percent);
  if (focal) return remark<RemarkCode::lens_shorter>(percent);
  return std::nullopt;
}

SeenCard see_card(const FoundCard& card, const CameraModel& camera, const PrintScale& scale) {
  const std::vector<CardSighting> sightings = sightings_of(card, scale);
  require_enough(card.kind, sightings);
  const Transform<Camera, Card> T_robust = fit_plane_pose(camera, sightings, true);
  const double stretch_u = std::sqrt(2.0) * scale.u;
  const LensPrior prior{
      .lens = covariance_in_photo(camera), .stretch = stretch_u, .sag_mm = kSagU_mm};
  LensFit fit = fit_lens(camera, prior, sightings, T_robust);
  // A sheet that lies less flat than paper usually does must not be taken for a lens.
  if (!camera.guessed && !otherness(camera, fit, 0.0).empty() &&
      bend_fits_as_well(camera, prior, sightings, T_robust)) {
    fit = fit_lens(camera, with_any_bend(prior), sightings, T_robust);
  }
  CameraModel moving = camera;
  moving.covariance = prior.lens;
  const Bend bend = measure_bend(moving, sightings, T_robust);
  if (is_bent(bend) && bend_fits_as_well(camera, prior, sightings, T_robust)) {
    require_flat(card.kind, bend, sightings.size());
  }
  require_this_lens(card, camera, fit, sightings, stretch_u);
  require_flat(card.kind, bend, sightings.size());
  SeenCard seen{.camera = fit.camera, .pose = {}};
  const std::vector<CardSighting> on_print = on_sheet(sightings, fit);
  const Transform<Camera, Card> T =
      refine_plane_pose(fit.camera, on_print, true, fit.T_camera_card);
  seen.pose = pose_without_strays(card, fit.camera, on_print, T, fit.covariance);
  seen.pose.bend_mm = bend.height_mm;
  seen.pose.bend_u_mm = bend.u_mm;
  seen.pose.lens = change_of(camera, fit);
  require_uncovered(card, fit.camera, scale, seen.pose);
  return seen;
}

}  // namespace evenbevel
