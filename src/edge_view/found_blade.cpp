#include "found_blade.hpp"

#include <cmath>

#include "anatomy.hpp"
#include "extent.hpp"
#include "flats_fix.hpp"
#include "quick_look.hpp"
#include "readings.hpp"

namespace evenbevel::edge {
namespace {

constexpr double kLeastFlatsMm = 7.0;

void leave_out_corners(Found& found) {
  constexpr double kCornerPx = 2.2;
  for (std::vector<double>* beside : {&found.beside_high_mm, &found.beside_low_mm}) {
    std::erase_if(*beside,
                  [&](double out) { return std::abs(out) * found.at.px_per_mm < kCornerPx; });
  }
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

FlatsPair at_the_edge(const Found& found, FlatsPair flats) {
  if (!found.ricasso) return flats;
  flats.high = found.ricasso->high.line;
  flats.low = found.ricasso->low.line;
  return flats;
}

FlatsDoubt fix_rims(const Found& found, double thickness_mm, std::vector<BandReadings>& bands) {
  if (!found.beside) return {};
  constexpr double kDepthShare = 0.43;  // Half the stock less half a usual land, at 45 degrees.
  const double depth_mm = found.inner.stage == Stage::ground ? kDepthShare * thickness_mm : 0.0;
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
  std::optional<Anatomy> anatomy = find_anatomy(search.image, places, search.stretch_mm, flats,
                                                search.settings, blur_px, search.look.has_value());
  if (!anatomy) fail_without_blade(search);
  Found found{.at = std::move(anatomy->at),
              .inner = std::move(anatomy->inner),
              .handle = anatomy->handle,
              .handle_log_odds = anatomy->handle_log_odds};
  found.which_u_mm = anatomy->which_u_mm;
  found.beside = std::move(anatomy->beside);
  found.ricasso = std::move(anatomy->ricasso);
  found.ricasso_hidden = anatomy->ricasso_hidden;
  const RimPair& rims = found.beside ? *found.beside : *found.ricasso;
  found.beside_high_mm = rims.high.beside_mm;
  found.beside_low_mm = rims.low.beside_mm;
  if (found.inner.stage == Stage::scribed && search.look) {
    require_same_rims(search, places, found);
    found.corners = fit_corner_rims(search.image, found.at.frame, found.at.px_per_mm, rims,
                                    search.look->across);
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
