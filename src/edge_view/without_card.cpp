#include "without_card.hpp"

#include <cmath>

#include "edge_result.hpp"
#include "placement.hpp"
#include "quick_look.hpp"
#include "refusals.hpp"
#include "summary.hpp"

namespace evenbevel::edge {
namespace {

/// Every other way in which camera and plane may lie widens the intervals by what it would change.
void widen_by_views(Placement& placed, const StandIn& stand_in) {
  for (const OtherView& view : stand_in.others) {
    if (view.in_covariance) continue;
    CardPose other = stand_in.pose;
    other.T_camera_card = view.T_camera_card;
    const StripFrame frame(view.camera, view.T_camera_card, placed.settings.reference_height_mm,
                           placed.plane.direction_rad());
    widen(placed.metric, seen_otherwise(placed, frame, other), view.cause);
  }
}

}  // namespace

EdgeResult measure_without_card(const Photo& photo, const CameraModel& camera,
                                const EdgeSettings& settings) {
  const StandIn stand_in = find_without_card(photo, camera, settings);
  const LanePicture lane = lane_picture(photo, camera, stand_in.pose, settings);
  FlatsSearch search = flats_search(lane, camera, stand_in.pose, settings);
  search.width_low_mm = stand_in.width_low_mm;
  search.width_high_mm = stand_in.width_high_mm;
  const Found found =
      found_without_card(lane.image, lane.on_lane, lane.stretch_mm, search, settings);
  const Located& at = found.at;
  require_no_bare_lane(photo.pixels, at, found.inner.trace);
  const BladeReading read = read_blade(lane, found, settings);
  const double rival_u_mm =
      std::hypot(stand_in.which_border_u_mm,
                 disagreement_mm(lane.image, at.frame, read, as_clear(at, found.rivals)));

  const Tip tip = settings.tip.value_or(read.tip());
  Placement placed =
      place_blade(lane, at, read, stand_in.pose, tip, {.which_u_mm = rival_u_mm}, settings);
  widen_by_views(placed, stand_in);
  widen_scale(placed.metric, stand_in, settings.thickness_mm, settings.thickness_u_mm,
              at.px_per_mm);
  judge_sharpness(placed.metric, lane.image, placed.plane, read.flats, read.plan.blur_px);
  EdgeResult result =
      result_of(placed, read, at.px_per_mm,
                plunge_mismatch_u_mm(stand_in, placed.plane, placed.plunges, read.flats));
  result.tip_seen = settings.tip || result.plunge_mismatch_mm;
  require_plausible(result, settings);
  require_enough_stations(result);
  add_warnings(result, placed.bands);
  add_plunge_warning(result, read.handle != 0);
  add_tip_warning(result, settings, read.handle != 0);
  add_quick_look_words(result, camera, photo, settings.stage.has_value());
  return result;
}

}  // namespace evenbevel::edge
