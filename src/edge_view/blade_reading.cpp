#include "blade_reading.hpp"

#include <algorithm>
#include <cmath>

#include "evenbevel/error.hpp"
#include "evenbevel/fit.hpp"
#include "lamp_side.hpp"
#include "pair_shape.hpp"
#include "refusals.hpp"

namespace evenbevel::edge {
namespace {

/// The land has its true width and the facets their depth only some way from the plunge lines.
/// @throws Error  Too little is left.
void trim_at_plunges(InnerTrace& trace, const PlungeLines& plunges, int handle) {
  constexpr double kShortOfPlungeMm = 2.5;
  constexpr double kUnseenMm = 4.0;  // Where the plunge lines could not be read.
  constexpr std::size_t kLeastPlaces = 6;
  double limit = handle > 0 ? trace.s_end_mm() : trace.s_begin_mm();
  if (!plunges.high || !plunges.low) limit -= handle * kUnseenMm;
  for (const auto& plunge : {plunges.high, plunges.low}) {
    if (!plunge) continue;
    limit = handle > 0 ? std::min(limit, plunge->s_mm() - kShortOfPlungeMm)
                       : std::max(limit, plunge->s_mm() + kShortOfPlungeMm);
  }
  std::erase_if(trace.places, [&](const InnerTrace::Place& p) {
    return handle > 0 ? p.s_mm > limit : p.s_mm < limit;
  });
  if (trace.places.size() < kLeastPlaces) {
    throw Error("the ground edge is too short to be measured beyond the plunge lines",
                "take the photo so that more of the ground edge is in the picture");
  }
}

/// Beside full bevels there are no flats: they are read on the ricasso only.
void end_at_bevels(FlatsPair& flats, const InnerTrace& land, int handle) {
  constexpr double kMarginMm = 3.0;
  if (handle < 0) flats.s_end_mm = std::min(flats.s_end_mm, land.s_begin_mm() - kMarginMm);
  if (handle > 0) flats.s_begin_mm = std::max(flats.s_begin_mm, land.s_end_mm() + kMarginMm);
}

/// Rims read band by band keep their direction and come to lie where their corners put them.
/// False: they lie too far from there to be the same borders.
bool move_rims(const CornerRims& corners, std::vector<BandReadings>& bands) {
  constexpr double kMostPx = 1.2;
  const auto moved = [&](std::optional<Reading> BandReadings::*which, const StripLine& line) {
    std::vector<double> off;
    for (const BandReadings& band : bands) {
      if (band.*which) off.push_back(line.t_mm(band.s_mm) - (band.*which)->t_mm);
    }
    if (off.empty()) return true;
    const double by_mm = median(off);
    for (BandReadings& band : bands) {
      if (band.*which) (band.*which)->t_mm += by_mm;
    }
    return std::abs(by_mm) * bands.front().px_per_mm < kMostPx;
  };
  const bool high = moved(&BandReadings::flat_high, corners.high.line);
  return moved(&BandReadings::flat_low, corners.low.line) && high;
}

void shift_lines(std::vector<BandReadings>& bands, double by_mm) {
  for (BandReadings& band : bands) {
    for (auto* line : {&band.inner_high, &band.inner_low}) {
      if (*line) (*line)->t_mm += by_mm;
    }
  }
}

ReadingPlan plan_of(const LanePicture& lane, const Found& found, const EdgeSettings& settings) {
  ReadingPlan plan{.stage = found.inner.stage, .step_mm = settings.step_mm};
  plan.beside_high_mm = found.beside_high_mm;
  plan.beside_low_mm = found.beside_low_mm;
  plan.blur_px =
      typical_blur_px(lane.image, found.at.frame, found.at.flats, found.inner.trace, plan)
          .value_or(lane.look ? lane.look->blur_px : kUsualBlurPx);
  return plan;
}

/// Where no corners were fitted, the rims are read as plain steps or glints, by what they show.
void choose_looks(const LanePicture& lane, const StripFrame& frame, BladeReading& read) {
  const bool glints = read.inner.stage != Stage::ground;
  if (glints) choose_rim_looks(lane.image, frame, read.flats, read.plan);
  recentre(lane.image, frame, read.inner.trace, read.plan, read.flats);
  if (glints) choose_rim_looks(lane.image, frame, read.flats, read.plan);
}

}  // namespace

BladeReading read_blade(const LanePicture& lane, const Found& found, const EdgeSettings& settings) {
  const Located& at = found.at;
  const Stage stage = found.inner.stage;
  BladeReading read{.inner = found.inner,
                    .flats = at.flats,
                    .handle = believed_handle(found, settings.tip),
                    .plunges = {},
                    .plan = plan_of(lane, found, settings),
                    .bands = {},
                    .corners = found.corners};
  InnerTrace& trace = read.inner.trace;
  if (read.handle != 0) {
    read.plunges = find_plunges(lane.as_stored, at.frame,
                                at_the_edge(found, read.flats, settings.thickness_mm), trace, stage,
                                read.handle, read.plan.blur_px);
    trim_at_plunges(trace, read.plunges, read.handle);
  }
  if (stage == Stage::bevelled) end_at_bevels(read.flats, trace, read.handle);
  if (!found.corners) choose_looks(lane, at.frame, read);
  read.plan.corners = found.corners;
  read.bands = read_bands(lane.image, at.frame, read.flats, trace, read.plan);
  if (stage != Stage::scribed && lane.look) {
    require_two_borders(third_border_share(lane.image, at.frame, read.flats, trace, read.plan),
                        lane.look, mean_clipped_share(read.bands));
  }
  if (stage == Stage::bevelled && lane.look && found.ricasso) {
    read.corners =
        fit_corner_rims(lane.image, at.frame, at.px_per_mm, *found.ricasso, lane.look->across);
    if (read.corners && !move_rims(*read.corners, read.bands)) fail_with_rims(lane.look);
  }
  if (stage == Stage::scribed) {
    read.lamp = lamp_side(lane.image, at.frame, read.flats, at.px_per_mm);
    shift_lines(read.bands, groove_shift_mm(read.lamp));
  }
  require_exposed(read.bands);
  return read;
}

double disagreement_mm(const LaneImage& image, const StripFrame& frame, const BladeReading& read,
                       const std::vector<FlatsPair>& rivals) {
  constexpr double kSameBorderPx = 0.5;
  constexpr double kMostMm = 0.10;
  const FlatsPair& chosen = read.flats;
  const double middle = 0.5 * (chosen.s_begin_mm + chosen.s_end_mm);
  const double px_per_mm = frame.px_per_mm_across(middle, chosen.mid_mm(middle));
  double largest = 0.0;
  for (FlatsPair rival : rivals) {
    rival.s_begin_mm = chosen.s_begin_mm;
    rival.s_end_mm = chosen.s_end_mm;
    recentre(image, frame, read.inner.trace, read.plan, rival);
    const double apart = std::abs(rival.mid_mm(middle) - chosen.mid_mm(middle));
    if (apart * px_per_mm > kSameBorderPx) largest = std::max(largest, apart);
  }
  if (largest > kMostMm) {
    throw Error("two pairs of borders could be the blade's flats, " + length_words(largest, 2) +
                    " apart in the middle, and the photo does not say which is right",
                "light both flats so that their rims stand out from the jaws, move the camera "
                "straight over the edge, and give --edge-height, with the card, if you can measure "
                "it");
  }
  return 0.5 * largest;
}

}  // namespace evenbevel::edge
