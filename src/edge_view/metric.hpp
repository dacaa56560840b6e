#pragma once

#include <functional>
#include <limits>
#include <optional>
#include <vector>

#include "evenbevel/edge_view.hpp"
#include "evenbevel/fit.hpp"
#include "readings.hpp"
#include "stations.hpp"

namespace evenbevel::edge {

// From readings in the reference plane to the blade: heights, offsets, widths, uncertainty. Here s
// runs to the tip, so that t runs to the left face.

/// Broken corners are up to 0.05 mm wide (common practice, no source), and a rim may be read
/// anywhere between the two borders of its own: 0.05 / sqrt(12) a rim, over sqrt(2) for the middle
/// of two, is 0.010; what lies beside a corner pulls it a little more. mm.
inline constexpr double kUsualCornerU = 0.012;
inline constexpr double kRulerHeightU = 0.5;  ///< mm, of an edge height by ruler.

/// Where the camera stands, in strip coordinates, with standard uncertainties from the card pose.
struct CameraPlace {
  double t_mm = 0.0;       ///< Across: its foot point on the card.
  double height_mm = 0.0;  ///< Above the card.
  double u_t_mm = 0.0, u_height_mm = 0.0;
};

/// The datum: both rims of the flats as smooth curves in the reference plane.
struct Datum {
  struct Rims {
    double high_mm = 0.0, low_mm = 0.0;
    double u_mid_mm = 0.0;      ///< Of their middle, from the readings' scatter;
    double u_carried_mm = 0.0;  ///< from how straight and how truly directed they are, beyond where
                                ///< they were read.
    /// So near to each other places share the first; lines carried along the blade are off
    /// everywhere together.
    double shared_mm = std::numeric_limits<double>::infinity();
  };
  std::function<Rims(double s_mm)> at;
  double s_begin_mm = 0.0, s_end_mm = 0.0;  ///< Where both rims were read.
  double scatter_px = 0.0;                  ///< Of single readings about the curves.

  bool holds(double s_mm) const { return s_mm >= s_begin_mm && s_mm <= s_end_mm; }
};

/// Smooth curves through the rims (scribed, ground).
/// @throws Error  Too few readings.
Datum follow_rims(const std::vector<BandReadings>& bands);

/// The rims before the plunge lines as straight lines, carried on along the blade (bevelled): flats
/// are planes.
Datum extend_rims(const std::vector<BandReadings>& bands);

/// What is unknown of the flats' mid-plane beyond the readings of their borders, shared by all
/// stations: standard uncertainties.
struct FlatsDoubt {
  double which_u_mm = 0.0;  ///< From the choice between borders.
  double strip_u_mm = 0.0;  ///< From strips of the flats' own faces, seen below the rims.
};

struct MetricSettings {
  Stage stage = Stage::scribed;
  double thickness_mm = 0.0, thickness_u_mm = 0.0;
  std::optional<double> edge_height_mm;
  double facet_angle_rad = 0.785398;
  double lean_rad = 0.0;  ///< Of the mid-plane off the card's normal, edge toward the left face.
  double jaw_squareness_u_rad = 0.0017;
  double reference_height_mm = 0.0;
  double blur_px = 0.0;
  double corner_u_mm = kUsualCornerU;
  double groove_u_mm = 0.0;  ///< Of the lines' middles, from the light in their grooves.
  FlatsDoubt flats;
  bool dyed = false;  ///< The flats were read in the colour of layout dye.
};

struct Metric {
  std::vector<EdgeStation> stations;  ///< x_mm holds s; px is filled in by the caller.
  std::vector<double> middle_t_mm;    ///< Mid of land or lines, reference plane; a station each.
  double edge_height_mm = 0.0;        ///< Mean.
  double edge_height_u_mm = 0.0;
  double found_height_mm = 0.0;  ///< From the thickness, also where the height was given.
  double found_height_u_mm = 0.0;
  Eigen::Vector2d inner_scatter_px = Eigen::Vector2d::Zero();  ///< Of single readings of either
                                                               ///< border about its curve, robust.
  double flats_width_u_mm = 0.0;           ///< Of the flats' distance, from light on both borders.
  std::optional<Measured> mean_offset_mm;  ///< Empty when no station was measured.
};

/// One station a band. @throws Error  Too few readings of the land or the lines.
Metric to_blade(const std::vector<BandReadings>& bands, const Datum& datum,
                const CameraPlace& camera, const MetricSettings& settings);

}  // namespace evenbevel::edge
