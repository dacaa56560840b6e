#pragma once

#include <optional>
#include <string>
#include <vector>

#include <Eigen/Core>
#include <opencv2/core/mat.hpp>

#include "evenbevel/camera.hpp"
#include "evenbevel/card.hpp"
#include "evenbevel/edge_view.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel {

// What a camera over the bench sees, frame after frame: whether a photo now would be a good one,
// what to do until it would be, and when to take it.

struct LiveSettings {
  CardKind card = CardKind::edge;
  CameraModel camera = {};
  PrintScale print = {};
};

/// One frame, as far as the card tells it.
struct LiveLook {
  std::optional<FoundCard> card = {};  ///< The wanted one; empty: not seen.
  std::optional<CardKind> other = {};  ///< Another one that is seen.
  // Of the card's pose; 0 without one.
  bool placed = false;
  double distance_mm = 0.0;  ///< Camera above the card.
  Eigen::Vector2d aside_mm =
      Eigen::Vector2d::Zero();  ///< Camera off the middle of lane or card, card frame.
  double px_per_mm = 0.0;       ///< At the card.
  double glare = 0.0;           ///< Share of pure white on the card.
  double seen = 0.0;            ///< Corners found, of all.
  std::vector<Eigen::Vector2d> lane_px = {};  ///< Outline, stored pixel grid.
};

/// Cheap enough for every frame: 20 to 40 ms at 1920 x 1080.
/// @param bgr  CV_8UC3.
LiveLook look_at_frame(const cv::Mat& bgr, const LiveSettings& settings);

/// One thing that has to be well.
struct LiveCheck {
  std::string name;  ///< "card", "glare", "focus", "distance", "camera".
  bool well = false;
  InUnits words;  ///< What it is: "158 of 168 corners".
  InUnits todo;   ///< Empty when it is well: "move the camera 9 mm toward the right face".
};

/// What a measurement of an earlier frame has told of the blade.
struct LiveBlade {
  std::optional<Tip> tip = {};  ///< On the upright card: names the faces.
  double lateral_mm = 0.0;      ///< Camera off the blade's mid-plane, positive to the left face,
  double up_mm = 0.0;           ///< when it stood there, `LiveLook::aside_mm` y.
};

/// In the order in which they are to be put right.
std::vector<LiveCheck> live_checks(const LiveLook& look, const LiveSettings& settings,
                                   const LiveBlade& blade);

bool all_well(const std::vector<LiveCheck>& checks);

/// How far the card's corners have moved between two looks, px, the middle one of them; empty where
/// fewer than eight are seen in both.
std::optional<double> moved_px(const FoundCard& before, const FoundCard& now);

/// Says when to take the photo: once all is well and still for a second; and not again until the
/// card was touched, so that one blade is one photo.
class TakeBySelf {
 public:
  /// @param now_s  Of a clock that does not go back.
  /// @param ready  Whether it may be taken, once all is well and still.
  /// @return  Whether to take it now.
  bool see(double now_s, bool well, bool ready, const LiveLook& look);

  double still_s() const { return still_s_; }  ///< For how long all has been well and still.
  bool armed() const { return armed_; }
  /// A photo was taken by hand.
  void taken(const LiveLook& look);

 private:
  bool touched(double now_s, const LiveLook& look);

  std::optional<FoundCard> still_card_, taken_card_;
  double still_since_s_ = 0.0, still_s_ = 0.0, seen_s_ = 0.0;
  std::optional<double> gone_since_s_;
  bool armed_ = true;
};

/// The frame as the page shows it: small, with corners, lane and where the camera stands.
/// @param look  Of this frame.
/// @return  CV_8UC3.
cv::Mat live_picture(const cv::Mat& bgr, const LiveLook& look, int width_px);

}  // namespace evenbevel
