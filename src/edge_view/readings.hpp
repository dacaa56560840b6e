#pragma once

#include <optional>
#include <vector>

#include "border/pair_curves.hpp"
#include "corner_rims.hpp"
#include "evenbevel/edge_view.hpp"
#include "inner.hpp"
#include "locate.hpp"
#include "strip.hpp"

namespace evenbevel::edge {

/// A border located in one band, in the reference plane.
struct Reading {
  double t_mm = 0.0;
  double u_mm = 0.0;  ///< From the profile fit's residuals alone.
};

/// Everything one band across the blade gave.
struct BandReadings {
  double s_mm = 0.0;
  double px_per_mm = 0.0;
  std::optional<Reading> flat_high, flat_low;  ///< Rims of the flats.
  std::optional<double> colours_apart_mm;  ///< Their middle in the dye's channel less that in grey.
  std::optional<Reading> inner_high, inner_low;  ///< Scribe lines' centres or land borders.
  Eigen::Matrix2d inner_information = Eigen::Matrix2d::Zero();  ///< Of (low, high), 1/mm^2.
  Eigen::Vector2d inner_sigmas = Eigen::Vector2d::Zero();    ///< Step of each border, over a few mm
                                                             ///< about, in units of its own noise.
  Eigen::Vector2d inner_per_burr = Eigen::Vector2d::Zero();  ///< As `PairInformation` has it.
  /// How far past the camera's range the surface beyond either border (low, high) is, e-folds.
  Eigen::Vector2d inner_past_range = Eigen::Vector2d::Zero();
  double inner_residual = 0.0;  ///< RMS of the inner fit over the features' amplitude.
  double clipped_share = 0.0;   ///< Of the samples between the flats.
};

/// How a rim of the flats shows: as a plain step, or with the broken corner's glint at it.
enum class RimLook { plain, glint };

struct RimLooks {
  RimLook high = RimLook::plain, low = RimLook::plain;
};

struct ReadingPlan {
  Stage stage = Stage::scribed;
  double step_mm = 1.0;
  double blur_px = 0.0;       ///< Found by `typical_blur_px`.
  bool blur_is_known = true;  ///< From the card.
  RimLooks flats{};           ///< In the channel in which the flats are sought,
  std::vector<double> beside_high_mm{}, beside_low_mm{};  ///< Further borders by the rims, outward
                                                          ///< positive, fitted with them.
  std::optional<RimLooks> grey{};  ///< and in grey, where they show in it too and that is another.
  double line_width_mm = 0.05;
  std::optional<CornerRims> corners{};  ///< Known already: the rims are taken from here.
};

/// Two lines of one height gauge are parallel; a land need not be.
PairWidth pair_width(Stage stage);

/// Median blur of the inner pair, fitted freely in bands all along. Empty: no band could be fitted.
std::optional<double> typical_blur_px(const LaneImage& image, const StripFrame& frame,
                                      const FlatsPair& flats, const InnerTrace& inner,
                                      const ReadingPlan& plan);

/// Whether the rims of the flats show a glint, by majority over a few bands; in a dyed photo also
/// whether they show in grey. Rims are then read in both channels, and the mean is taken: dye and
/// compression pull one of them, bare corners the other.
void choose_rim_looks(const LaneImage& image, const StripFrame& frame, const FlatsPair& flats,
                      ReadingPlan& plan);

/// Lays the flats' lines through their rims as the plan reads them.
void recentre(const LaneImage& image, const StripFrame& frame, const InnerTrace& inner,
              const ReadingPlan& plan, FlatsPair& flats);

/// The trace without the ends that the photo itself does not bear out: where the borders hardly
/// stand out, as on the bare ricasso. May come back too short to be of use.
InnerTrace confirmed(const LaneImage& image, const StripFrame& frame, const FlatsPair& flats,
                     const InnerTrace& inner, const ReadingPlan& plan);

/// One reading each step along the blade. Flats are read where `flats` was seen; lines or land as
/// one smooth model of the whole stretch (`pair_curves`), of which each band's own reading is
/// given.
std::vector<BandReadings> read_bands(const LaneImage& image, const StripFrame& frame,
                                     const FlatsPair& flats, const InnerTrace& inner,
                                     const ReadingPlan& plan);

double mean_clipped_share(const std::vector<BandReadings>& bands);

}  // namespace evenbevel::edge
