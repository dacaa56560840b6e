#include "placement.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "lamp_side.hpp"
#include "law_check.hpp"

namespace evenbevel::edge {
namespace {

/// What corners leave unknown where no card tells how borders spread, and the rims were read
/// without.
double unseen_corners_u_mm(const LaneImage& image, const Located& at, const FlatsPair& flats,
                           double blur_px) {
  constexpr double kUsualHalo = 0.2;
  const RimPair rough{.high = {.line = flats.high, .beside_mm = {}},
                      .low = {.line = flats.low, .beside_mm = {}},
                      .s_begin_mm = flats.s_begin_mm,
                      .s_end_mm = flats.s_end_mm};
  const auto corners = fit_corner_rims(image, at.frame, at.px_per_mm, rough, {blur_px, kUsualHalo});
  return std::hypot(kUsualCornerU, corners ? corners->u_mid_mm() : 0.0);
}

void mirror(std::vector<BandReadings>& bands) {
  std::reverse(bands.begin(), bands.end());
  const auto flip = [](std::optional<Reading>& r) {
    if (r) r->t_mm = -r->t_mm;
  };
  for (BandReadings& band : bands) {
    band.s_mm = -band.s_mm;
    std::swap(band.flat_high, band.flat_low);
    std::swap(band.inner_high, band.inner_low);
    band.inner_information = band.inner_information.reverse().eval();
    band.inner_sigmas = band.inner_sigmas.reverse().eval();
    band.inner_past_range = band.inner_past_range.reverse().eval();
    band.inner_per_burr = -band.inner_per_burr.reverse().eval();
    for (auto* r : {&band.flat_high, &band.flat_low, &band.inner_high, &band.inner_low}) flip(*r);
  }
}

/// Everything that was read, as another frame has the same pixels. `sign`: -1 for mirrored bands.
std::vector<BandReadings> seen_from(const StripFrame& other, const StripFrame& frame,
                                    std::vector<BandReadings> bands, double sign) {
  for (BandReadings& band : bands) {
    const auto moved = [&](double t_mm) {
      return Eigen::Vector2d(sign * other.at(frame.pixel(sign * band.s_mm, sign * t_mm)));
    };
    double s_mm = moved(0.0).x();
    for (auto* r : {&band.flat_high, &band.flat_low, &band.inner_high, &band.inner_low}) {
      if (!*r) continue;
      const Eigen::Vector2d st = moved((*r)->t_mm);
      (*r)->t_mm = st.y();
      s_mm = st.x();
    }
    band.s_mm = s_mm;
  }
  return bands;
}

/// From the surface in which borders at other heights run straight to the plane.
void bring_to_plane(Placement& placed, const StripFrame& frame, const FlatsPair& flats) {
  placed.bands = seen_from(placed.plane, frame, std::move(placed.bands), 1.0);
  for (std::optional<PlungeLine>* plunge : {&placed.plunges.high, &placed.plunges.low}) {
    if (!*plunge) continue;
    const double s = (*plunge)->s_mm();
    (*plunge)->zero_s_mm += placed.plane.at(frame.pixel(s, flats.mid_mm(s))).x() - s;
  }
}

MetricSettings metric_settings(const LanePicture& lane, const Located& at, const BladeReading& read,
                               const FlatsDoubt& doubt, Tip tip, const EdgeSettings& settings) {
  MetricSettings out{.stage = read.inner.stage,
                     .thickness_mm = settings.thickness_mm,
                     .thickness_u_mm = settings.thickness_u_mm,
                     .edge_height_mm = settings.edge_height_mm,
                     .facet_angle_rad = settings.facet_angle_rad,
                     .lean_rad = toward_left(settings.jaw_lean_rad, tip),
                     .jaw_squareness_u_rad = settings.jaw_squareness_u_rad,
                     .reference_height_mm = lane.on_lane.reference_height_mm(),
                     .blur_px = read.plan.blur_px,
                     .flats = doubt,
                     .dyed = lane.image.dyed() && !read.corners};
  const bool lines = read.inner.stage == Stage::scribed;
  if (read.corners) {
    out.corner_u_mm = read.corners->u_mid_mm();
  } else if (lines) {
    out.corner_u_mm = unseen_corners_u_mm(lane.image, at, read.flats, read.plan.blur_px);
  }
  if (lines) out.groove_u_mm = groove_u_mm(read.lamp);
  return out;
}

}  // namespace

CameraPlace camera_place(const StripFrame& frame, const CardPose& pose, bool mirrored) {
  const Eigen::Vector3d at = frame.camera_mm();
  const Eigen::Matrix<double, 3, 6> J_centre = origin_by_step(pose.T_camera_card);
  const Eigen::Matrix3d covariance =
      J_centre * (pose.covariance_corners + pose.covariance_camera) * J_centre.transpose();
  return {.t_mm = mirrored ? -at.y() : at.y(),
          .height_mm = at.z(),
          .u_t_mm = std::sqrt(std::max(covariance(1, 1), 0.0)),
          .u_height_mm = std::sqrt(std::max(covariance(2, 2), 0.0))};
}

Placement place_blade(const LanePicture& lane, const Located& at, const BladeReading& read,
                      const CardPose& pose, Tip tip, const FlatsDoubt& doubt,
                      const EdgeSettings& settings) {
  Placement placed{.plane = at.frame.in_plane(),
                   .mirrored = tip == Tip::left,
                   .bands = read.bands,
                   .plunges = read.plunges,
                   .camera = {},
                   .settings = metric_settings(lane, at, read, doubt, tip, settings),
                   .metric = {}};
  if (settings.seen) bring_to_plane(placed, at.frame, read.flats);
  if (placed.mirrored) mirror(placed.bands);
  placed.camera = camera_place(placed.plane, pose, placed.mirrored);
  placed.metric = to_blade(placed.bands, datum_of(placed.bands, read.inner.stage), placed.camera,
                           placed.settings);
  return placed;
}

Metric seen_otherwise(const Placement& placed, const StripFrame& frame, const CardPose& pose) {
  const std::vector<BandReadings> seen =
      seen_from(frame, placed.plane, placed.bands, placed.sign());
  return to_blade(seen, datum_of(seen, placed.settings.stage),
                  camera_place(frame, pose, placed.mirrored), placed.settings);
}

}  // namespace evenbevel::edge
