#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <Eigen/Geometry>
#include <opencv2/core/mat.hpp>

#include "evenbevel/camera.hpp"
#include "evenbevel/frames.hpp"
#include "evenbevel/words.hpp"

namespace evenbevel {

enum class CardKind { lens, edge, side, heel };

std::string_view name(CardKind kind);

/// A printed card: a grid of square cells, black when column + row is even, white cells with a
/// 5x5 marker (dictionary of 1000) of side 0.75 pitch, and a lane without grid.
struct CardLayout {
  struct Cell {
    int column = 0;  ///< From the left.
    int row = 0;     ///< From the top.
  };

  CardKind kind = CardKind::edge;
  int columns = 0;
  int rows = 0;
  double pitch_mm = 0.0;
  int first_id = 0;
  int lane_column = 0, lane_row = 0, lane_columns = 0, lane_rows = 0;  ///< 0 columns: no lane.

  std::vector<Cell> marker_cells;           ///< Cell of marker first_id + index.
  std::vector<Eigen::Vector2d> corners_mm;  ///< Usable corners in the card frame (z = 0).

  bool in_lane(Cell cell) const;
  Eigen::Vector2d cell_top_left_mm(Cell cell) const;  ///< Card frame.
  Eigen::AlignedBox2d lane_mm() const;                ///< Card frame. @pre lane_columns > 0.
};

const CardLayout& card_layout(CardKind kind);

enum class Sheet { a4, letter };
enum class CardFormat { pdf, svg, png };

/// Where things stand on the printed sheet: mm from its top left corner, x right, y down.
struct CardPage {
  Eigen::Vector2d size_mm = Eigen::Vector2d::Zero();           ///< Landscape.
  Eigen::Vector2d grid_top_left_mm = Eigen::Vector2d::Zero();  ///< Outer corner of cell (0, 0).
  Eigen::Vector2d bar_start_mm = Eigen::Vector2d::Zero();      ///< Left end of the check bar.
  double bar_length_mm = 0.0;

  Eigen::Vector2d at(const CardLayout& card, const Eigen::Vector2d& card_mm) const;
};

CardPage card_page(CardKind kind, Sheet sheet);

/// Draws the page, landscape, to exact size (PNG: 600 dpi with pHYs). Written to a temporary name
/// and renamed. @throws Error  Not writable.
void draw_card(CardKind kind, Sheet sheet, CardFormat format, const std::filesystem::path& path);

/// One usable corner of a card, found in a photo to sub-pixel.
struct CardCorner {
  int index = 0;         ///< Into CardLayout::corners_mm.
  Eigen::Vector2d q_px;  ///< Stored pixel grid.
};

struct FoundCard {
  CardKind kind = CardKind::edge;
  std::vector<CardCorner> corners;
  int markers = 0;           ///< How many of its markers were read.
  double spacing_px = 0.0;   ///< Median distance between neighbouring corners.
  double softness_px = 0.0;  ///< Median over the corners: how far their borders are spread, RMS.
};

/// Finds every kind of card in the picture. Markers are read in a shrunken copy; corners are
/// refined at full resolution in windows sized from the corner spacing (reference: half-window
/// below 0.36 of the smallest spacing).
/// @param grey  CV_8UC1, full resolution.
std::vector<FoundCard> find_cards(const cv::Mat& grey);

/// The one card of the wanted kind.
/// @throws Error  None, another kind, two kinds, or fewer corners than `needed`; with counts.
FoundCard require_card(const cv::Mat& grey, CardKind wanted, int needed_corners);

/// Length of the bar printed under a card, to check the print with calipers.
constexpr double printed_bar_mm(CardKind kind) { return kind == CardKind::heel ? 60.0 : 200.0; }

/// How far the print is from true size: measured / nominal of the check bar.
struct PrintScale {
  double along = 1.0;     ///< Along the page's long side (card x).
  double across = 1.0;    ///< Card y.
  double u = 0.002;       ///< Standard uncertainty of either; smaller when the bar was measured.
  bool measured = false;  ///< The printed bar was; else the print is taken to be true.
};

/// What one photo's lens differs by from the camera file: found with the card's pose, as far as the
/// card tells. The rest keeps the uncertainty that the file and the lens's motion leave.
struct LensChange {
  LensVector all{};  ///< Photo minus file; empty where the lens was held.

  // Against a calibrated file; zeros for a guessed camera.
  double focal = 0.0, focal_u = 0.0;  ///< Relative; positive: longer than in the file.
  Eigen::Vector2d centre_px = Eigen::Vector2d::Zero();  ///< Photo minus file.
  Eigen::Matrix2d centre_covariance = Eigen::Matrix2d::Zero();

  bool focal_seen() const;   ///< Beyond noise: by more than 2 u.
  bool centre_seen() const;  ///< Beyond noise, in its own direction.
};

struct CardPose {
  Transform<Camera, Card> T_camera_card;
  /// Of a step of the pose (`PoseStep`), from the corners' scatter and from the camera's
  /// covariance, kept apart.
  Eigen::Matrix<double, 6, 6> covariance_corners = Eigen::Matrix<double, 6, 6>::Zero();
  Eigen::Matrix<double, 6, 6> covariance_camera = Eigen::Matrix<double, 6, 6>::Zero();
  int corners = 0;  ///< Used in the fit.
  int rejected = 0;
  double rms_px = 0.0;  ///< Per point, of the corners used.
  double worst_px = 0.0;
  double bend_mm = 0.0;    ///< Of the sheet, highest minus lowest over the corners seen.
  double bend_u_mm = 0.0;  ///< Its standard uncertainty; below twice this the sheet may be flat.
  LensChange lens;         ///< Zeros where the lens was held.
};

/// The lens that a photo was taken through, from the camera file's.
CameraModel lens_in_photo(const CameraModel& file, const CardPose& pose);

/// A card with the lens that this photo was taken through.
struct SeenCard {
  CameraModel camera;  ///< The photo's own, with its covariance; else as the camera file has it.
  CardPose pose;       ///< For that camera. `covariance_camera` holds lens and print's stretch.
};

/// Pose and lens from the corners of one card. The camera is a prior (`covariance_in_photo`), and
/// so is the print: how much longer along than across, and how far from flat.
/// @throws Error  As `fit_card_pose` and `require_uncovered`; also a camera file of another lens. A
///                card counts as bent only where no lens explains the corners.
SeenCard see_card(const FoundCard& card, const CameraModel& camera, const PrintScale& scale);

/// How the lens differs from the camera file, where that is beyond noise.
std::optional<Remark> lens_note(const LensChange& lens);

/// Robust pose from the corners of one card, the lens held as the camera has it.
/// @throws Error  Too few corners, no spread, or residuals that say the card is bent (with
/// figures).
CardPose fit_card_pose(const FoundCard& card, const CameraModel& camera, const PrintScale& scale);

/// Compares the corners found with those that the pose puts into the picture: a pose from half a
/// card says little about the other half, and something is in the way.
/// @throws Error  Fewer than 60 % of them, with counts: blurred, or half hidden.
void require_uncovered(const FoundCard& card, const CameraModel& camera, const PrintScale& scale,
                       const CardPose& pose);

}  // namespace evenbevel
