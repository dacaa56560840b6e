#pragma once

#include <vector>

#include "evenbevel/side_report.hpp"
#include "evenbevel/side_view.hpp"

namespace evenbevel::test {

/// A made-up blade, its faces flat under a camera that looks straight down on the card.
struct DrawnFaces {
  double from_mm = -20.0, to_mm = 100.0;  ///< Handle end and tip.
  double blade_height_mm = 30.0;
  double bevel_left_mm = 18.0;   ///< Edge to bevel line, alike along the blade...
  double bevel_right_mm = 17.6;  ///< ...left - right is 0.4 mm.
  double plunge_left_mm = 0.5, plunge_right_mm = -0.5;
  double difference_u_mm = 0.03;
  double mismatch_u_mm = 0.05;
  double scale_px_per_mm = 8.0;
  double turned_rad = 0.03;                ///< Of the blade on the card.
  std::vector<int> unseen = {60, 61, 62};  ///< Stations without a bevel line on the left face.
  bool both = true;                        ///< Else the left face alone.
};

SideResult result_of(const DrawnFaces& blade);

/// Green card, grey blade, bright bevel, each pixel by its coverage; and what side_view is given.
class FacePhotos {
 public:
  explicit FacePhotos(const DrawnFaces& blade);
  FacePhotos(const FacePhotos&) = delete;
  FacePhotos& operator=(const FacePhotos&) = delete;

  std::vector<FacePhoto> given() const;
  Photo& left() { return photos_.front(); }

 private:
  std::vector<Photo> photos_;
  CameraModel camera_;
};

SideSettings side_settings();

}  // namespace evenbevel::test
