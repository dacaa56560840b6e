#pragma once

#include <array>
#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include <Eigen/Geometry>
#include <opencv2/core/mat.hpp>

#include "evenbevel/camera.hpp"
#include "evenbevel/card.hpp"
#include "evenbevel/frames.hpp"
#include "evenbevel/photo.hpp"
#include "evenbevel/words.hpp"

namespace evenbevel {

// Camera calibration from photos of a flat board: from corners to a camera with its covariance.
//
// Method: a plane seen from several sides (Z. Zhang, IEEE PAMI 22 (2000) 1330-1334) gives the
// start; then all intrinsics and all poses together by least squares on the pixel residuals.

/// The corners of one photo. Both lists run in step.
struct CalibrationView {
  std::string name;
  std::vector<Eigen::Vector2d> points_mm;  ///< Card frame, z = 0.
  std::vector<Eigen::Vector2d> points_px;  ///< Stored pixel grid.
};

struct CalibrationSettings {
  const LensModel* lens = lens_models().front();
  /// Which of the camera's parameters are found, in their order; the others stay 0 (the lens's
  /// coefficients) or at the start (picture centre, focal length).
  std::array<bool, kMostLensParameters> free = {true, true, true, true, true,
                                                true, true, true, true};
  bool leave_out = true;  ///< Bad photos and stray corners; false: every corner counts.
  /// Hold the higher coefficients softly at 0, by what they do to the farthest corner of the
  /// picture, so that photos which cannot hold them do not invent them.
  bool soft_distortion = true;
  int fewest_views = 5;
  int fewest_corners = 8;  ///< In one view.
};

/// A view as used.
struct CalibratedView {
  std::string name;
  Transform<Camera, Card> T_camera_card;
  std::vector<Eigen::Vector2d> points_px;     ///< Corners used.
  std::vector<Eigen::Vector2d> residuals_px;  ///< Seen minus projected, in step with points_px.
  double rms_px = 0.0;                        ///< Per corner (not per coordinate).
  double tilt_rad = 0.0;                      ///< Card normal against the line of sight.
  double distance_mm = 0.0;                   ///< Mean depth of the corners used.
};

/// What was not used: a photo, or some corners of it.
struct LeftOut {
  std::string name;
  int corners = 0;  ///< 0: the whole photo.
  std::string
      reason;  ///< "blurred", "corners do not fit: 3.1 px"; for corners: "do not fit: 3.1 px".
};

/// Where corners were seen: counts in a grid of equal cells over the picture.
struct CalibrationCoverage {
  static constexpr int kColumns = 9;
  static constexpr int kRows = 6;
  std::array<int, std::size_t{kColumns} * kRows> corners{};  ///< Row by row from the top left.

  int& at(int row, int column) { return corners[index(row, column)]; }
  int at(int row, int column) const { return corners[index(row, column)]; }

  double share() const;  ///< Of cells with a corner.

 private:
  static std::size_t index(int row, int column) {
    return static_cast<std::size_t>(row) * kColumns + static_cast<std::size_t>(column);
  }
};

struct CalibrationResult {
  CameraModel
      camera;  ///< With covariance sigma^2 (J^T J)^-1, poses marginalised; size, range, rms.
  std::vector<CalibratedView> views;
  std::vector<LeftOut> left_out;
  double noise_px = 0.0;  ///< Standard deviation of one coordinate of one corner.
  CalibrationCoverage coverage;
  /// Standard uncertainty of a projected point for a fixed ray, larger coordinate: at the middle
  /// of the picture and in its corners (upper left, upper right, lower left, lower right).
  double u_centre_px = 0.0;
  std::array<double, 4> u_corners_px{};
  std::vector<Remark> notes;   ///< What was held, dropped or assumed.
  std::vector<Remark> advice;  ///< How to take better photos, most important first.
};

/// Finds the camera from the views.
/// @param left_out  Photos that did not even give a view, to be counted and named.
/// @return  The covariance holds the corners' own scatter. It does not hold a model error: a bent
///          board, or a lens that these coefficients cannot follow, shows in rms_px.
/// @throws Error  Too few usable views (how many, how many needed), all of them at the same pose,
///                or no camera that fits them.
CalibrationResult calibrate(std::span<const CalibrationView> views, cv::Size image_size,
                            const CalibrationSettings& settings = {},
                            std::vector<LeftOut> left_out = {});

/// Advice from what the views cover; part of calibrate().
std::vector<Remark> calibration_advice(const CalibrationResult& result);

/// A plain chessboard: inner corners across and down, side of a square.
struct Chessboard {
  int columns = 0;
  int rows = 0;
  double square_mm = 1.0;
};

/// What to look for: the printed lens card, or a chessboard instead.
struct CalibrationBoard {
  std::optional<Chessboard> chessboard;
  PrintScale print;  ///< Of the lens card.
};

/// What one photo shows of the board.
struct BoardSighting {
  CalibrationView view;             ///< Without corners when the board was not found.
  std::optional<double> blur_px;    ///< See board_blur_px.
  std::optional<LeftOut> left_out;  ///< Why the photo cannot be used.
};

/// Looks for the board. A picture so blurred that its corners mean little (Gaussian sigma above 6 %
/// of the corner spacing) is left out.
/// @param grey  CV_8UC1, full resolution.
BoardSighting sight_board(const std::string& name, const cv::Mat& grey,
                          const CalibrationBoard& board);

/// Marks as left out those that are far more blurred than the rest (three times the middle one).
void leave_out_blurred(std::vector<BoardSighting>& sightings);

/// Photos of a board by one camera, one after the other.
class CalibrationPhotos {
 public:
  explicit CalibrationPhotos(const CalibrationBoard& board) : board_(board) {}

  /// Looks for the board. The first photo that shows it says which camera it is; one from another
  /// camera, lens, zoom or size is left out, and a photo without EXIF never counts as the same
  /// camera's as one that has it.
  const BoardSighting& add(const std::string& name, const Photo& photo);
  /// For what could not even be read.
  const BoardSighting& add_left_out(const std::string& name, const std::string& reason);
  void drop_last();

  const std::vector<BoardSighting>& sightings() const { return sightings_; }
  const CameraModel& camera() const { return camera_; }  ///< Size and identity.
  CalibrationCoverage coverage() const;                  ///< Of all that are not left out.

 private:
  CalibrationBoard board_;
  CameraModel camera_;
  std::vector<BoardSighting> sightings_;
};

/// Without those that are far more blurred than the rest.
struct UsableViews {
  std::vector<CalibrationView> views;
  std::vector<LeftOut> left_out;
};
UsableViews usable_views(std::vector<BoardSighting> sightings);

/// The corners of the lens card as a view.
CalibrationView card_view(const std::string& name, const FoundCard& card, const PrintScale& scale);

/// Half of the window in which corners are refined: below 0.36 of the smallest spacing, so that it
/// never reaches a neighbour. At least 2.
int corner_half_window(double smallest_spacing_px);

/// All inner corners of a chessboard; empty when it is not in view as a whole.
/// @param grey         CV_8UC1, full resolution.
/// @param half_window  For refinement; chosen from the corner spacing when not given.
std::optional<CalibrationView> find_chessboard(const std::string& name, const cv::Mat& grey,
                                               const Chessboard& board,
                                               std::optional<int> half_window = std::nullopt);

/// Gaussian sigma of the black-white borders between neighbouring corners, px; empty when too few
/// borders are clear enough to tell.
std::optional<double> board_blur_px(const cv::Mat& grey, const CalibrationView& view);

/// Smallest distance between two corners of the view, px.
double smallest_spacing_px(const CalibrationView& view);

/// Adds the corners to the counts.
void add_coverage(CalibrationCoverage& coverage, std::span<const Eigen::Vector2d> points_px,
                  cv::Size image_size);

/// Picks frames of a film that show something new: another part of the picture, another tilt,
/// another distance. Frames in which the card moves against the frame before are not taken: most
/// cameras read their sensor line by line, which shears a moving card.
class FramePicker {
 public:
  explicit FramePicker(cv::Size image_size) : image_size_(image_size) {}

  enum class Answer { taken, moving, nothing_new };

  /// Frames are to be offered one after the other, those without a card as an empty view.
  Answer offer(const CalibrationView& view);

  const std::vector<CalibrationView>& taken() const { return taken_; }
  const CalibrationCoverage& coverage() const { return coverage_; }

 private:
  cv::Size image_size_;
  CalibrationCoverage coverage_;
  std::vector<CalibrationView> taken_;
  CalibrationView before_;
  Eigen::AlignedBox2d board_mm_;              ///< Of all corners seen so far.
  std::vector<std::array<double, 6>> looks_;  ///< Shape of the board in each view taken.
};

/// What to show while frames are picked: the frame, the cells seen so far, a line of words. BGR.
cv::Mat picking_picture(const cv::Mat& frame_bgr, const FramePicker& picker,
                        const CalibrationView& now, const std::string& words);

/// A photo with the parts of the picture where corners were seen in all photos so far, those that
/// are still empty, and its own corners; turned upright. BGR.
cv::Mat gathering_picture(const Photo& photo, const CalibrationCoverage& coverage,
                          const CalibrationView& now);

/// The emptiest of the nine parts of the picture as it is held upright: "upper left corner";
/// empty when none lacks more than a third of its cells.
std::string emptiest_part(const CalibrationCoverage& coverage, cv::Size stored, int orientation);

/// The picture beside the camera file: where corners were seen, residuals magnified by a stated
/// factor, cells without corners, the figures. BGR.
cv::Mat coverage_picture(const CalibrationResult& result);

/// The figures for the terminal: camera, residuals, what was left out and why, advice.
std::string calibration_text(const CalibrationResult& result);

/// Writes the camera file and the picture, both to temporary names first, then renamed.
/// @throws Error  Not writable; nothing is left behind.
void write_calibration(const CalibrationResult& result, const std::filesystem::path& camera_file,
                       const std::filesystem::path& picture_file);

}  // namespace evenbevel
