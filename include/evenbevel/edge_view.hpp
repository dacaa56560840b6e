#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include <Eigen/Core>

#include "evenbevel/camera.hpp"
#include "evenbevel/card.hpp"
#include "evenbevel/face.hpp"
#include "evenbevel/monte_carlo.hpp"
#include "evenbevel/photo.hpp"
#include "evenbevel/uncertainty.hpp"
#include "evenbevel/words.hpp"

namespace evenbevel {

// The edge view: the blade edge-up in the slot of the edge card, camera above. Frames and signs:
// blade frame x to the tip, y to the left face (knife held edge down, tip away), z from the edge
// up to the spine. Positive centreline offset: toward the left face.

enum class Stage { scribed, ground, bevelled };
std::string_view name(Stage stage);

/// Where the tip points on the card held upright; without a card, in the upright picture (right is
/// up when the blade stands upright in it).
enum class Tip { left, right };

/// Where another photo of the same clamping has shown the blade.
struct SeenBlade {
  /// The middle between the flats' rims, which lie deeper beside a ground edge than on the ricasso:
  /// two points or more, card frame, in order of x.
  std::vector<Eigen::Vector3d> middle_mm;
  double u_across_mm = 0.0, u_height_mm = 0.0;  ///< Standard uncertainties.
};

struct EdgeSettings {
  double thickness_mm = 0.0;             ///< Stock thickness between the flats, by micrometer.
  double thickness_u_mm = 0.005;         ///< Standard uncertainty of that reading.
  std::optional<double> edge_height_mm;  ///< Edge above the card's top; found when not given.
  std::optional<Stage> stage;            ///< Found when not given.
  std::optional<SeenBlade> seen;         ///< Borders elsewhere are not the flats'.
  std::optional<Tip> tip;                ///< Plunge lines tell; else right.
  bool card = true;  ///< False: quick look; any card in the picture is ignored, the thickness is
                     ///< the ruler, `edge_height_mm` and `print` are not used.
  PrintScale print;
  double step_mm = 1.0;               ///< Distance between stations.
  double facet_angle_rad = 0.785398;  ///< From the mid-plane; ground stage, single photo.
  double jaw_lean_rad = 0.0;  ///< The flats off the card's normal, edge toward the card's +y.
  double jaw_squareness_u_rad = 0.0017;           ///< Standard uncertainty of that.
  std::optional<MonteCarloSettings> monte_carlo;  ///< Checks the law of propagation; needs a card.
};

/// One place along the blade. An empty optional: not seen here.
struct EdgeStation {
  double x_mm = 0.0;  ///< Blade frame.
  Eigen::Vector2d px =
      Eigen::Vector2d::Zero();  ///< Midpoint of the land or of the scribe lines, stored pixel grid.
  std::optional<Measured> centreline_offset_mm;  ///< Positive toward the left face.
  std::optional<Measured> thickness_mm;          ///< Apparent, at the card's scale.
  std::optional<Measured> line_gap_mm;           ///< Scribed.
  std::optional<Measured> land_width_mm;         ///< Ground, bevelled.
  std::optional<Measured> facet_width_left_mm;   ///< Ground: seen from above.
  std::optional<Measured> facet_width_right_mm;
  double residual_px = 0.0;  ///< RMS of the profile fit; a model error shows here.
};

/// A curve followed along the blade, for the annotated picture.
struct EdgeTrace {
  enum class Kind { flat_left, flat_right, scribe_left, scribe_right, land_left, land_right };
  Kind kind = Kind::flat_left;
  std::vector<Eigen::Vector2d> points_px;  ///< Stored pixel grid, from handle to tip.
  std::vector<double> u_px = {};  ///< Across the blade, a point each; from the profile fit alone.
  double coverage = 0.0;          ///< Share of the blade's length where it was found.
};
std::string_view name(EdgeTrace::Kind kind);

/// One photo's part in a result that several have given.
struct EdgePhotoPart {
  std::string photo;  ///< Its name.
  bool turned = false;
  Tip tip = Tip::right;
  std::optional<Measured> centreline_offset_mm = {};  ///< From this photo alone, mean.
  double camera_lateral_mm = 0.0, camera_distance_mm = 0.0;
};

/// A quantity's interval by the law of propagation, and by Monte Carlo.
struct QuantityCheck {
  std::string quantity;
  Measured law;
  MonteCarloResult monte_carlo;
  LawComparison comparison;
};

struct EdgeResult {
  Stage stage = Stage::scribed;
  Tip tip = Tip::right;
  bool tip_seen = false;       ///< By plunge lines, or given; else by where the ricasso seems to
                               ///< lie, or right.
  bool x_from_plunge = false;  ///< x = 0 at the plunge line midpoint, else at the first station.

  // Summary, mm; empty: this stage or this photo does not show it.
  std::optional<Measured> centreline_offset_mm;        ///< Mean over the stations.
  std::optional<Measured> centreline_offset_worst_mm;  ///< Signed, the largest by size.
  double worst_x_mm = 0.0;
  std::optional<Measured> symmetry_mm;   ///< 2 max|c| (ISO 1101): width of the zone.
  std::optional<Measured> thickness_mm;  ///< At the card's scale; only where the edge's height was
                                         ///< given, else the thickness given is what says it.
  std::optional<Measured> line_gap_mm, land_width_mm;
  std::optional<Measured> land_taper_mm;  ///< Land wider by this 100 mm nearer to the tip.
  /// Of the flats' mid-line over its chord, as clamped; positive toward the left face. Of ground
  /// edges, without the joint solution.
  std::optional<Measured> bow_mm;
  std::optional<Measured> facet_width_left_mm, facet_width_right_mm, facet_width_difference_mm;
  std::optional<Measured> facet_angle_left_rad, facet_angle_right_rad;
  double assumed_facet_angle_rad = 0.785398;  ///< As the settings say, where none was measured.
  std::optional<Measured> plunge_left_mm, plunge_right_mm;  ///< x in the blade frame, half depth.
  std::optional<Measured> plunge_mismatch_mm;  ///< Positive: the left one is nearer the tip.

  // From several photos only (`edge_set`).
  std::optional<Measured> setup_offset_mm;  ///< What jaws, card and light add, seen by turning the
                                            ///< blade; positive toward +y of the card.
  std::optional<Measured> land_height_left_mm;  ///< Land above the left flat's upper border.
  std::optional<Measured> land_height_right_mm;
  std::vector<EdgePhotoPart> photos;

  std::vector<EdgeStation> stations;  ///< From handle to tip, every step_mm along the blade.
  std::vector<EdgeTrace> traces;
  std::vector<QuantityCheck> monte_carlo;  ///< Where it was asked for.

  double coverage = 0.0;         ///< Share of stations with a centreline offset.
  double scale_px_per_mm = 0.0;  ///< At the edge, mid-blade.
  double blur_px = 0.0;          ///< Gaussian sigma of the borders.
  double edge_height_mm = 0.0;   ///< Edge above the card; 0 without a card.
  double edge_height_u_mm = 0.0;
  double camera_distance_mm = 0.0;
  double camera_lateral_mm = 0.0;  ///< Camera off the blade's mid-plane, positive to the left
                                   ///< face; not known, and 0, without a card.
  bool lens_guessed = false;       ///< No camera file.
  std::optional<CardPose> pose;    ///< Empty without a card (quick look).
  int corners_found = 0;
  std::vector<CardCorner> corners;
  std::vector<Remark> warnings;
  std::vector<Remark> advice;  ///< How to take a better photo; what to do with the blade
                               ///< comes from `advice`.
};

/// Measures one photo.
/// @throws Error  The photo cannot be measured; the message says why and what to do (design, bad
///                input): no card, no blade, blurred, over-exposed, wrong thickness, and so on;
///                without a card also flats that cannot be told from what lies beside them.
EdgeResult edge_view(const Photo& photo, const CameraModel& camera, const EdgeSettings& settings);

}  // namespace evenbevel
