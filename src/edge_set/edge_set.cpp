#include "evenbevel/edge_set.hpp"

#include <string>
#include <vector>

#include "evenbevel/error.hpp"
#include "joint_result.hpp"
#include "refusals.hpp"
#include "reversal.hpp"

namespace evenbevel {
namespace {

EdgeResult measure(const Photo& photo, bool turned, const CameraModel& camera,
                   EdgeSettings settings) {
  // The maker's word on the tip is about the photos as clamped; the turned ones are checked by it.
  if (turned) settings.tip.reset();
  try {
    EdgeResult result = edge_view(photo, camera, settings);
    for (const std::string& warning : photo.warnings) {
      result.warnings.insert(result.warnings.begin(), warning);
    }
    result.photos = {{.photo = photo.name,
                      .turned = turned,
                      .tip = result.tip,
                      .centreline_offset_mm = result.centreline_offset_mm,
                      .camera_lateral_mm = result.camera_lateral_mm,
                      .camera_distance_mm = result.camera_distance_mm}};
    return result;
  } catch (const Error& error) {
    throw Error(photo.name + ": " + error.what(), error.do_next());
  }
}

/// Photos of one clamping.
EdgeResult measure_all(std::span<const Photo> photos, bool turned, const CameraModel& camera,
                       const EdgeSettings& settings) {
  std::vector<EdgeResult> results;
  results.reserve(photos.size());
  for (const Photo& photo : photos) results.push_back(measure(photo, turned, camera, settings));
  if (results.size() == 1) return results.front();
  return edges::measure_jointly(results, camera, settings);
}

}  // namespace

EdgeResult edge_set(const EdgePhotos& photos, const CameraModel& camera,
                    const EdgeSettings& settings) {
  edges::require_one_size(photos.as_clamped, photos.turned);
  EdgeResult first = measure_all(photos.as_clamped, false, camera, settings);
  if (photos.turned.empty()) return first;
  const EdgeResult turned = measure_all(photos.turned, true, camera, settings);
  edges::require_one_blade(first, turned);
  return edges::reverse(first, turned);
}

}  // namespace evenbevel
