#include "with_card.hpp"

#include <cmath>
#include <optional>

#include "along.hpp"
#include "dye_ends.hpp"
#include "edge_result.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/words.hpp"
#include "law_check.hpp"
#include "placement.hpp"
#include "refusals.hpp"
#include "summary.hpp"

namespace evenbevel::edge {
namespace {

/// Whether the photo bears out what was read in it.
/// @throws Error  It does not.
void require_borne_out(const EdgeResult& result, const Placement& placed, const Found& found,
                       int handle, const LanePicture& lane, const EdgeSettings& settings) {
  const Metric& metric = placed.metric;
  const double clipped = mean_clipped_share(placed.bands);
  require_agreement(metric, placed.camera.height_mm, settings);
  require_usual_height(metric, settings);
  if (result.stage == Stage::ground && !settings.stage)
    require_ricasso(found.ricasso_hidden, lane.look, clipped);
  const bool told = result.stage == Stage::ground && settings.stage;
  if (result.stage != Stage::scribed && !told && !settings.seen)
    require_plunges(placed.plunges, result.stage, lane.look, clipped);
  if (result.stage != Stage::scribed) {
    if (!steady_borders(metric, result.stage)) require_clear_photo(lane.look, clipped);
    require_steady_borders(metric, result.stage);
  }
  if (!settings.tip && handle == 0 && result.centreline_offset_mm)
    fail_without_tip(result.centreline_offset_mm->value);
  if (!plausible(result, settings)) require_clear_photo(lane.look, clipped);
  require_plausible(result, settings);
  if (!enough_stations(result)) require_clear_photo(lane.look, clipped);
  require_enough_stations(result);
}

/// @throws Error  What was followed lies beside the dye that the land has kept.
void require_land_in_its_dye(const LanePicture& lane, const Located& at, const BladeReading& read,
                             const EdgeSettings& settings) {
  constexpr double kReachShare = 0.4;  // Of the stock, to either side of the land.
  const std::optional<double> off_mm = dyed_land_off_mm(
      lane.image, at.frame, at.px_per_mm, read.inner.trace, kReachShare * settings.thickness_mm);
  if (off_mm) require_at_dye(*off_mm, at.px_per_mm);
}

}  // namespace

EdgeResult measure_with_card(const Photo& photo, const CameraModel& camera, const CardPose& pose,
                             const EdgeSettings& settings) {
  LanePicture lane = lane_picture(photo, camera, pose, settings);
  look_at_card(lane, photo, camera, pose);
  const Found found =
      found_with_card({lane.image, lane.as_stored, lane.on_lane, lane.stretch_mm,
                       flats_search(lane, camera, pose, settings), lane.look, settings});
  require_no_bare_lane(photo.pixels, found.at, found.inner.trace);
  BladeReading read = read_blade(lane, found, settings);
  FlatsDoubt doubt;
  if (read.inner.stage == Stage::ground) doubt = fix_rims(found, settings.thickness_mm, read.bands);
  doubt.which_u_mm = std::hypot(doubt.which_u_mm, found.which_u_mm);
  require_both_borders(read.bands, read.inner.stage);
  if (read.inner.stage != Stage::scribed) require_land_in_its_dye(lane, found.at, read, settings);

  const Tip tip = settings.tip.value_or(read.tip());
  const Placement placed = place_blade(lane, found.at, read, pose, tip, doubt, settings);
  EdgeResult result = result_of(placed, read, found.at.px_per_mm, 0.0);
  result.tip_seen = settings.tip || result.plunge_mismatch_mm;
  result.edge_height_mm = placed.metric.edge_height_mm;
  result.edge_height_u_mm = placed.metric.edge_height_u_mm;
  const StripFrame& plane = placed.plane;
  result.camera_lateral_mm =
      placed.camera.t_mm - placed.sign() * read.flats.mid_mm(plane.camera_mm().x());
  result.pose = pose;
  result.bow_mm = bow_mm(placed);
  if (settings.edge_height_mm) add_thickness(result, placed.metric, placed.camera.height_mm);
  require_borne_out(result, placed, found, read.handle, lane, settings);
  if (settings.monte_carlo) {
    result.monte_carlo = check_law({placed.bands, placed.camera, placed.settings}, placed.metric,
                                   result, *settings.monte_carlo);
  }
  add_warnings(result, placed.bands);
  add_plunge_warning(result, read.handle != 0);
  add_tip_warning(result, settings, read.handle != 0);
  if (found.stage_doubted) result.warnings.push_back(remark<RemarkCode::stage_doubted>());
  return result;
}

}  // namespace evenbevel::edge
