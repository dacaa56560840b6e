#include "found_blade.hpp"

#include <cmath>

#include "anatomy.hpp"
#include "dye_ends.hpp"
#include "extent.hpp"
#include "flats_fix.hpp"
#include "quick_look.hpp"
#include "readings.hpp"

namespace evenbevel::edge {
namespace {

void leave_out_corners(Found& found) {
  constexpr double kCornerPx = 2.2;
  for (std::vector<double>* beside : {&found.beside_high_mm, &found.beside_low_mm}) {
    std::erase_if(*beside,
                  [&](double out) { return std::abs(out) * found.at.px_per_mm < kCornerPx; });
  }
}

/// Dye ends at a rim or, by its corner and what its light and the picture's colour smear, a little
/// inside of it, seldom outside: px, from 37 random dyed faces under lamps.
constexpr double kDyeInsidePx = 0.4;

std::optional<DyeEnds> dye_of(const Search& search, const Found& found) {
  constexpr double kLeastShare = 0.6, kBeyondMm = 1.0;
  const FlatsPair& flats = found.at.flats;
  const double s = 0.5 * (flats.s_begin_mm + flats.s_end_mm), half = 0.5 * flats.width_mm(s);
  return dye_ends(search.image, found.at.frame, found.at.px_per_mm,
                  {.s_begin_mm = flats.s_begin_mm,
                   .s_end_mm = flats.s_end_mm,
                   .middle = flats.middle(),
                   .least_mm = kLeastShare * half,
                   .most_mm = half + kBeyondMm});
}

/// The rim where its dye says that it is; borders beside it stay where they are.
void move_to_dye(Rim& rim, const StripLine& middle, double dye_mm, int side, double s_mm,
                 double px_per_mm) {
  const double out = side * (rim.line.t_mm(s_mm) - middle.t_mm(s_mm));
  const double move = dye_mm + kDyeInsidePx / px_per_mm - out;
  rim.line.at_zero_mm += side * move;
  for (double& beside : rim.beside_mm) beside -= move;
}

/// Whether the dye ends at both rims, or where their corners are broken.
bool borne_out_by_dye(const CornerRims& rims, const DyeEnds& dye, const StripLine& middle,
                      double s_mm, double px_per_mm) {
  constexpr double kMostInsidePx = 0.6, kMostOutsidePx = 2.0;
  const auto at_rim = [&](const CornerRim& rim, double dye_mm, int side) {
    const double out = side * (rim.line.t_mm(s_mm) - middle.t_mm(s_mm)) - dye_mm;
    return out > -kMostInsidePx / px_per_mm && out < kMostOutsidePx / px_per_mm + kWidestCornerMm;
  };
  return at_rim(rims.high, dye.high_mm, +1) && at_rim(rims.low, dye.low_mm, -1);
}

/// Two ways of finding the rims, by what most places along the blade vote for and by what a long
/// stretch shows, must agree on a face with lines, where no plunge line bears either out.
/// @throws Error  They do not.
void require_same_rims(const Search& search, const std::vector<Located>& places,
                       const Found& found) {
  constexpr double kMostApartPx = 1.0;  // The votes' borders are as coarse as their strip.
  const auto blur_px = search.look ? std::optional(search.look->blur_px) : std::nullopt;
  std::optional<Blade> other =
      find_blade(search.as_stored, places, search.stretch_mm, search.settings, blur_px);
  if (!other) {  // Between lines and a land it cannot tell; the rims it may.
    EdgeSettings lines = search.settings;
    lines.stage = Stage::scribed;
    other = find_blade(search.as_stored, places, search.stretch_mm, lines, blur_px);
  }
  const double s = 0.5 * (found.at.flats.s_begin_mm + found.at.flats.s_end_mm);
  const double px_per_mm = found.at.px_per_mm;
  if (!other || other->inner.stage != Stage::scribed ||
      std::abs(other->at.flats.mid_mm(s) - found.at.flats.mid_mm(s)) * px_per_mm > kMostApartPx) {
    fail_with_rims(search.look);
  }
}

/// Started where the dye ends. Empty: there is none, or the rims found so do not bear it out.
std::optional<CornerRims> corners_by_dye(const Search& search, const Found& found, RimPair rims) {
  const StripLine middle = found.at.flats.middle();
  const double s = 0.5 * (rims.s_begin_mm + rims.s_end_mm), px_per_mm = found.at.px_per_mm;
  const std::optional<DyeEnds> dye = dye_of(search, found);
  if (!dye) return std::nullopt;
  move_to_dye(rims.high, middle, dye->high_mm, +1, s, px_per_mm);
  move_to_dye(rims.low, middle, dye->low_mm, -1, s, px_per_mm);
  std::optional<CornerRims> corners =
      fit_corner_rims(search.image, found.at.frame, px_per_mm, rims, search.look->across);
  if (!corners || !borne_out_by_dye(*corners, *dye, middle, s, px_per_mm)) return std::nullopt;
  return corners;
}

/// Where the dye lies, whether or not borders vote for it there. `like`: a place near by.
std::optional<Located> place_by_dye(const Search& search, const Located& like) {
  constexpr double kLeastShare = 0.3;
  const double thickness_mm = search.settings.thickness_mm;
  const StripLine middle = like.flats.middle();
  const std::optional<DyeEnds> dye = dye_ends(search.image, like.frame, like.px_per_mm,
                                              {.s_begin_mm = like.flats.s_begin_mm,
                                               .s_end_mm = like.flats.s_end_mm,
                                               .middle = middle,
                                               .least_mm = kLeastShare * thickness_mm,
                                               .most_mm = thickness_mm});
  if (!dye) return std::nullopt;
  const double width = dye->high_mm + dye->low_mm;
  if (width < search.flats.width_low_mm || width > search.flats.width_high_mm) return std::nullopt;
  Located place = like;
  place.flats.high = {middle.at_zero_mm + dye->high_mm, middle.slope};
  place.flats.low = {middle.at_zero_mm - dye->low_mm, middle.slope};
  return place;
}

}  // namespace

Found found_without_card(const LaneImage& image, const StripFrame& on_lane,
                         const std::pair<double, double>& stretch, const FlatsSearch& search,
                         const EdgeSettings& settings) {
  std::optional<Blade> blade =
      find_blade(image, locate(image, on_lane, stretch, search, kLeastFlatsMm), stretch, settings,
                 std::nullopt);
  if (!blade) fail_quick_look();
  Found found{.at = std::move(blade->at), .inner = std::move(blade->inner)};
  const BladeExtent extent = blade_extent(found.at.strip, found.at.px_per_mm, found.at.flats,
                                          found.inner.trace, found.inner.stage);
  found.at.flats.s_begin_mm = extent.s_begin_mm;
  found.at.flats.s_end_mm = extent.s_end_mm;
  found.handle = extent.handle;
  found.rivals = std::move(blade->rivals);
  return found;
}

FlatsPair at_the_edge(const Found& found, FlatsPair flats, double thickness_mm) {
  if (found.ricasso) {
    flats.high = found.ricasso->high.line;
    flats.low = found.ricasso->low.line;
  } else if (found.inner.stage == Stage::ground) {
    const StripFrame& frame = found.at.frame;
    const double edge_mm = frame.reference_height_mm();
    const double rims_mm = edge_mm - kFacetDepthShare * thickness_mm;
    const double s = 0.5 * (flats.s_begin_mm + flats.s_end_mm);
    for (StripLine* line : {&flats.high, &flats.low}) {
      const double t = line->t_mm(s);
      line->at_zero_mm += carried_mm(t, rims_mm, edge_mm, frame) - t;
    }
  }
  return flats;
}

FlatsDoubt fix_rims(const Found& found, double thickness_mm, std::vector<BandReadings>& bands) {
  if (!found.beside) return {};
  const double depth_mm =
      found.inner.stage == Stage::ground ? kFacetDepthShare * thickness_mm : 0.0;
  const FlatsFix fix = fix_flats(*found.beside, found.ricasso, found.at.frame, found.at.px_per_mm,
                                 thickness_mm, depth_mm);
  for (BandReadings& band : bands) {
    if (band.flat_high) band.flat_high->t_mm += fix.high_shift_mm;
    if (band.flat_low) band.flat_low->t_mm += fix.low_shift_mm;
  }
  return {.which_u_mm = fix.u_mid_mm, .strip_u_mm = fix.u_strip_mm};
}

Found found_with_card(const Search& search) {
  constexpr double kRimHeightU = 5.0;  // mm; the set-up has the edge 2-10 mm over the card.
  FlatsSearch flats = search.flats;
  flats.width_usual_u_mm *= kRimHeightU / kUsualHeightU;
  const double blur_px = search.look ? search.look->blur_px : kUsualBlurPx;
  const std::vector<Located> places =
      locate(search.as_stored, search.on_lane, search.stretch_mm, search.flats, kLeastFlatsMm);
  const auto look_at = [&](const std::vector<Located>& where, LandEnds ends) {
    return find_anatomy(search.image, where, search.stretch_mm, flats, search.settings, blur_px,
                        search.look.has_value(), ends);
  };
  std::optional<Anatomy> anatomy = look_at(places, LandEnds::by_light_and_outlines);
  if (!anatomy && search.image.dyed() && !places.empty()) {
    if (const auto dyed = place_by_dye(search, places.front()))
      anatomy = look_at({*dyed}, LandEnds::by_light_and_outlines);
  }
  if (!anatomy) anatomy = look_at(places, LandEnds::by_outlines);
  if (!anatomy) fail_without_blade(search);
  Found found{.at = std::move(anatomy->at),
              .inner = std::move(anatomy->inner),
              .handle = anatomy->handle,
              .handle_log_odds = anatomy->handle_log_odds};
  found.which_u_mm = anatomy->which_u_mm;
  found.stage_doubted = anatomy->stage_doubted;
  found.beside = std::move(anatomy->beside);
  found.ricasso = std::move(anatomy->ricasso);
  found.ricasso_hidden = anatomy->ricasso_hidden;
  const RimPair& rims = found.beside ? *found.beside : *found.ricasso;
  found.beside_high_mm = rims.high.beside_mm;
  found.beside_low_mm = rims.low.beside_mm;
  if (found.inner.stage == Stage::scribed && search.look) {
    found.corners = corners_by_dye(search, found, rims);
    if (!found.corners) {
      require_same_rims(search, places, found);
      found.corners = fit_corner_rims(search.image, found.at.frame, found.at.px_per_mm, rims,
                                      search.look->across);
    }
    if (!found.corners) fail_with_rims(search.look);
    found.at.flats.high = found.corners->high.line;
    found.at.flats.low = found.corners->low.line;
  }
  // A broken corner's own borders are what `choose_rim_looks` is for.
  if (found.inner.stage != Stage::ground) leave_out_corners(found);
  return found;
}

int believed_handle(const Found& found, std::optional<Tip> given) {
  constexpr double kPlain = 40.0;  // Log odds; as `handle_of` has them.
  if (!given || found.handle == 0) return found.handle;
  const Tip seen = found.handle > 0 ? Tip::left : Tip::right;
  if (seen == *given) return found.handle;
  if (found.handle_log_odds > kPlain) fail_with_tip(*given);
  return 0;
}

}  // namespace evenbevel::edge
