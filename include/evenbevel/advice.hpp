#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evenbevel/choil_view.hpp"
#include "evenbevel/edge_view.hpp"
#include "evenbevel/finish_view.hpp"
#include "evenbevel/side_view.hpp"
#include "evenbevel/words.hpp"

namespace evenbevel {

/// What to do with the blade, from c(x), e(x) and the wanted land width: how much each face still
/// has to lose, in zones along the blade, what is left of the land then, and where a face is
/// already past its line (then the best centre that the remaining steel allows). Most important
/// first; the first one stands alone on the terminal. Nothing the intervals do not support.
std::vector<Remark> edge_advice(const EdgeResult& result, std::optional<double> wanted_land_mm,
                                std::optional<double> tolerance_mm);

/// Where along the blade which face's bevel line has still to come up, and by how much; the plunge
/// lines. Nothing that the intervals do not support. Most important first; the first one stands
/// alone on the terminal.
std::vector<Remark> side_advice(const SideResult& result, std::optional<double> tolerance_mm);

/// Where more work at this grit is due, and which way to sand next so that what is left shows.
/// Most important first.
std::vector<Remark> finish_advice(const FinishResult& result,
                                  std::optional<double> tolerance_per_cm2);

/// Which side of the section is thicker, and where; hollow sides with their wheel. As above.
std::vector<Remark> choil_advice(const ChoilResult& result, std::optional<double> tolerance_mm);

/// To calibrate the camera, where the guessed lens widens the worst place's interval; else empty.
std::optional<Remark> calibrate_first(const EdgeResult& result);
/// The same of the worst place's bevel difference, of one face its mean bevel height.
std::optional<Remark> calibrate_first(const SideResult& result, bool lens_guessed);
/// The same of the thickness behind the edge, at the depth where it is widened most.
std::optional<Remark> calibrate_first(const ChoilResult& result, bool lens_guessed);

/// Which photo to take next, where the worst place's interval holds both sides of the tolerance:
/// the one that would narrow it most, and to how much, as the budget predicts. Empty when the
/// verdict does not hang on that, or without a card.
std::optional<Remark> next_photo(const EdgeResult& result, double tolerance_mm);

/// The usual cautions (for help, README and reports).
const std::vector<std::string>& cautions();

}  // namespace evenbevel
