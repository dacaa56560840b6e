#include <string>
#include <utility>

#include "evenbevel/calibrate.hpp"

namespace evenbevel {
namespace {

std::string difference_from_first(const CameraModel& first, const Photo& photo) {
  const bool first_named = names_camera(first.identity), named = names_camera(photo.camera);
  if (first_named && !named) return "it does not say which camera took it (no EXIF)";
  if (!first_named && named) return "the first one does not say which camera took it (no EXIF)";
  return camera_difference(first, photo);
}

}  // namespace

const BoardSighting& CalibrationPhotos::add(const std::string& name, const Photo& photo) {
  const bool first = camera_.width_px == 0;
  if (!first) {
    const std::string difference = difference_from_first(camera_, photo);
    if (!difference.empty()) return add_left_out(name, "not like the first photo: " + difference);
  }
  sightings_.push_back(sight_board(name, grey8(photo.pixels), board_));
  if (first && !sightings_.back().left_out) {
    camera_.width_px = photo.pixels.cols;
    camera_.height_px = photo.pixels.rows;
    camera_.identity = photo.camera;
  }
  return sightings_.back();
}

const BoardSighting& CalibrationPhotos::add_left_out(const std::string& name,
                                                     const std::string& reason) {
  BoardSighting sighting;
  sighting.view.name = name;
  sighting.left_out = LeftOut{name, 0, reason};
  sightings_.push_back(std::move(sighting));
  return sightings_.back();
}

void CalibrationPhotos::drop_last() {
  if (!sightings_.empty()) sightings_.pop_back();
  if (sightings_.empty()) camera_ = {};
}

CalibrationCoverage CalibrationPhotos::coverage() const {
  CalibrationCoverage coverage;
  for (const BoardSighting& sighting : sightings_) {
    if (sighting.left_out) continue;
    add_coverage(coverage, sighting.view.points_px, {camera_.width_px, camera_.height_px});
  }
  return coverage;
}

UsableViews usable_views(std::vector<BoardSighting> sightings) {
  leave_out_blurred(sightings);
  UsableViews usable;
  for (BoardSighting& sighting : sightings) {
    if (sighting.left_out) {
      usable.left_out.push_back(*sighting.left_out);
    } else {
      usable.views.push_back(std::move(sighting.view));
    }
  }
  return usable;
}

}  // namespace evenbevel
