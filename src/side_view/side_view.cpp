#include "evenbevel/side_view.hpp"

#include <cstddef>
#include <functional>
#include <future>
#include <optional>
#include <vector>

#include "evenbevel/error.hpp"
#include "refusals.hpp"
#include "registration.hpp"
#include "summary.hpp"

namespace evenbevel {

std::string_view name(FaceTrace::Kind kind) {
  switch (kind) {
    case FaceTrace::Kind::edge:
      return "edge";
    case FaceTrace::Kind::spine:
      return "spine";
    case FaceTrace::Kind::bevel:
      return "bevel line";
    case FaceTrace::Kind::plunge:
      return "plunge line";
  }
  return "";
}

namespace {

using side::FaceReading;
using side::Faces;

FaceReading read_named(const FacePhoto& photo, const SideSettings& settings) {
  try {
    return side::read_face(photo, settings);
  } catch (const Error& e) {
    throw Error(
        photo.photo->name + " (" + std::string(name(photo.face)) + " face): " + e.what_is_wrong(),
        e.what_to_do());
  }
}

/// x of the plunge lines at mid-height of the bevel, their middle.
std::optional<double> plunge_middle(const Faces& faces) {
  double height = 0.0, heights = 0.0;
  for (const auto* face : {&faces.left, &faces.right}) {
    if (*face && (*face)->bevel_height_mm) height += *(*face)->bevel_height_mm, heights += 1.0;
  }
  if (heights == 0.0) return std::nullopt;
  double sum = 0.0, count = 0.0;
  for (const auto* face : {&faces.left, &faces.right}) {
    if (!*face) continue;
    if (const auto x = side::plunge_at(**face, 0.5 * height / heights))
      sum += x->value, count += 1.0;
  }
  if (count == 0.0) return std::nullopt;
  return sum / count;
}

void move_origin(Faces& faces) {
  const std::optional<double> middle = plunge_middle(faces);
  if (!middle) return;
  faces.x_from_plunge = true;
  for (auto* face : {&faces.left, &faces.right}) {
    if (*face) *face = side::in_frame(**face, 0.0, {-*middle, 0.0});
  }
}

}  // namespace

std::optional<Face> face_shown(const Photo& photo, const CameraModel& camera,
                               const SideSettings& settings) {
  side::require_settings(settings);
  return side::face_in(photo, camera, settings);
}

SideResult side_view(std::span<const FacePhoto> photos, const SideSettings& settings) {
  side::require_settings(settings);
  side::require_photos(photos);
  // Both at once; of two bad photos the first is named.
  std::vector<std::future<FaceReading>> coming;
  for (const FacePhoto& photo : photos) {
    coming.push_back(
        std::async(std::launch::async, read_named, std::cref(photo), std::cref(settings)));
  }
  Faces faces;
  for (std::size_t i = 0; i < photos.size(); ++i) {
    (photos[i].face == Face::left ? faces.left : faces.right) = coming[i].get();
  }
  if (faces.left && faces.right) {
    faces.registration = side::register_outlines(*faces.left, *faces.right);
    faces.right =
        side::in_frame(*faces.right, faces.registration->turn_rad, faces.registration->shift_mm);
  }
  move_origin(faces);
  return side::summarise(faces, settings);
}

}  // namespace evenbevel
