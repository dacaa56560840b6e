#include "evenbevel/edge_set.hpp"

#include <cstddef>
#include <functional>
#include <future>
#include <optional>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include <opencv2/core/utility.hpp>

#include "evenbevel/error.hpp"
#include "joint_result.hpp"
#include "refusals.hpp"
#include "reversal.hpp"
#include "seen_blade.hpp"

namespace evenbevel {
namespace {

EdgeResult measure(const Photo& photo, bool turned, const CameraModel& camera,
                   EdgeSettings settings) {
  // The maker's word on the tip is about the photos as clamped; the turned ones are checked by it.
  if (turned) settings.tip.reset();
  try {
    EdgeResult result = edge_view(photo, camera, settings);
    for (const Remark& warning : photo.warnings) {
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
    throw Error(photo.name + ": " + error.what_is_wrong(), error.what_to_do());
  }
}

/// What the first photo has shown says where a camera beside the blade must see its borders. A
/// photo that does not show them there is measured by itself: it may be of another set-up.
EdgeResult measure_like(const EdgeResult& first, const Photo& photo, bool turned,
                        const CameraModel& camera, const EdgeSettings& settings) {
  EdgeSettings as_first = settings;
  as_first.stage = first.stage;
  try {
    EdgeSettings in_place = as_first;
    in_place.edge_height_mm = settings.edge_height_mm.value_or(first.edge_height_mm);
    in_place.seen = edges::seen_blade(first, camera, settings);
    return measure(photo, turned, camera, in_place);
  } catch (const Error&) {
    return measure(photo, turned, camera, as_first);
  }
}

/// What became of a photo: one of the two.
struct Attempt {
  std::optional<EdgeResult> result;
  std::optional<Error> error;
};

/// Each of them, side by side.
std::vector<Attempt> measure_each_like(const EdgeResult& first, std::span<const Photo> photos,
                                       bool turned, const CameraModel& camera,
                                       const EdgeSettings& settings) {
  std::vector<Attempt> attempts(photos.size());
  cv::parallel_for_(cv::Range(0, static_cast<int>(photos.size())), [&](const cv::Range& range) {
    for (int i = range.start; i < range.end; ++i) {
      const auto at = static_cast<std::size_t>(i);
      try {
        attempts[at].result = measure_like(first, photos[at], turned, camera, settings);
      } catch (const Error& error) {
        attempts[at].error = error;
      }
    }
  });
  return attempts;
}

/// Photos of one clamping. One that cannot be measured is left out, and named, as long as another
/// stands beside the first.
EdgeResult measure_all(std::span<const Photo> photos, bool turned, const CameraModel& camera,
                       const EdgeSettings& settings) {
  std::vector<EdgeResult> results{measure(photos.front(), turned, camera, settings)};
  std::vector<Remark> left_out;
  std::optional<Error> why;
  for (Attempt& other :
       measure_each_like(results.front(), photos.subspan(1), turned, camera, settings)) {
    if (other.result) {
      results.push_back(std::move(*other.result));
    } else {
      left_out.push_back(remark<RemarkCode::photo_left_out>(other.error->what_is_wrong()));
      why = other.error;
    }
  }
  if (results.size() == 1 && why) throw Error(*why);
  if (results.size() == 1) return results.front();
  EdgeResult joint = edges::measure_jointly(results, camera, settings);
  joint.warnings.insert(joint.warnings.begin(), left_out.begin(), left_out.end());
  return joint;
}

}  // namespace

EdgeResult edge_set(const EdgePhotos& photos, const CameraModel& camera,
                    const EdgeSettings& settings) {
  edges::require_one_size(photos.as_clamped, photos.turned);
  if (photos.turned.empty()) return measure_all(photos.as_clamped, false, camera, settings);
  auto coming = std::async(std::launch::async, measure_all, photos.turned, true, std::cref(camera),
                           std::cref(settings));
  const EdgeResult first = measure_all(photos.as_clamped, false, camera, settings);
  const EdgeResult turned = coming.get();
  edges::require_one_blade(first, turned);
  return edges::reverse(first, turned);
}

}  // namespace evenbevel
