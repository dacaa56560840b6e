#include "evenbevel/measure.hpp"

#include <algorithm>
#include <string_view>

#include "evenbevel/choil_report.hpp"
#include "evenbevel/finish_report.hpp"
#include "evenbevel/practice_report.hpp"
#include "evenbevel/side_report.hpp"

namespace evenbevel {
namespace {

EdgeResult edge_of(const EdgePhotos& photos, const CameraModel& camera,
                   const EdgeSettings& settings) {
  if (photos.as_clamped.size() + photos.turned.size() > 1) {
    return edge_set(photos, camera, settings);
  }
  const Photo& photo = photos.as_clamped.front();
  EdgeResult result = edge_view(photo, camera, settings);
  result.warnings.insert(result.warnings.begin(), photo.warnings.begin(), photo.warnings.end());
  return result;
}

/// Of two photos each says it where they differ: "camera_left".
ReportSettings with_cameras(ReportSettings settings, std::span<const FaceToMeasure> faces) {
  const bool alike = std::ranges::all_of(faces, [&](const FaceToMeasure& face) {
    return std::string_view(face.camera.from) == faces.front().camera.from;
  });
  if (alike) return with_camera(std::move(settings), faces.front().camera);
  for (const FaceToMeasure& face : faces) {
    settings.from.add_text("camera_" + std::string(name(face.face)), face.camera.from);
  }
  return settings;
}

}  // namespace

WrittenEdge measure_edge(const EdgePhotos& photos, const ChosenCamera& camera,
                         const EdgeSettings& settings, const ReportSettings& without_camera,
                         const std::filesystem::path& folder) {
  const ReportSettings report = with_camera(without_camera, camera);
  const Photo& first = photos.as_clamped.front();
  WrittenEdge written;
  written.result = edge_of(photos, camera.model, settings);
  write_edge_report(written.result, settings, first, camera.model, report, folder);
  written.verdict = edge_verdict(written.result, report);
  written.statement = edge_statement(written.result, settings, first, camera.model, report);
  return written;
}

Written measure_practice(const Photo& photo, const ChosenCamera& camera,
                         const PracticeSettings& settings, const ReportSettings& without_camera,
                         const std::filesystem::path& folder) {
  const ReportSettings report = with_camera(without_camera, camera);
  const PracticeResult result = practice_view(photo, camera.model, settings);
  write_practice_report(result, settings, photo, camera.model, report, folder);
  return {practice_statement(result, settings, photo, camera.model, report),
          practice_verdict(result)};
}

Written measure_faces(std::span<const FaceToMeasure> faces, const SideSettings& settings,
                      const ReportSettings& without_camera, const std::filesystem::path& folder) {
  const ReportSettings report = with_cameras(without_camera, faces);
  std::vector<FacePhoto> photos;
  photos.reserve(faces.size());
  for (const FaceToMeasure& face : faces) {
    photos.push_back({face.face, &face.photo, &face.camera.model});
  }
  SideResult result = side_view(photos, settings);
  for (const FaceToMeasure& face : faces) {
    result.warnings.insert(result.warnings.end(), face.photo.warnings.begin(),
                           face.photo.warnings.end());
  }
  write_side_report(result, settings, photos, report, folder);
  return {side_statement(result, settings, photos, report), side_verdict(result, report)};
}

Written measure_finish(std::span<const FaceToMeasure> faces, const FinishSettings& settings,
                       const ReportSettings& without_camera, const std::filesystem::path& folder) {
  const ReportSettings report = with_cameras(without_camera, faces);
  std::vector<FinishPhoto> photos;
  for (const FaceToMeasure& face : faces) {
    photos.push_back({face.face, &face.photo, &face.camera.model});
  }
  FinishResult result = finish_view(photos, settings);
  for (const FaceToMeasure& face : faces) {
    add_new(result.warnings, face.photo.warnings);
  }
  write_finish_report(result, settings, photos, report, folder);
  return {finish_statement(result, settings, photos, report), finish_verdict(result, report)};
}

Written measure_section(const Photo& photo, const ChosenCamera& camera,
                        const ChoilSettings& settings, const ReportSettings& without_camera,
                        const std::filesystem::path& folder) {
  const ReportSettings report = with_camera(without_camera, camera);
  ChoilResult result = choil_view(photo, camera.model, settings);
  result.warnings.insert(result.warnings.end(), photo.warnings.begin(), photo.warnings.end());
  write_choil_report(result, settings, photo, camera.model, report, folder);
  return {choil_statement(result, settings, photo, camera.model, report),
          choil_verdict(result, report)};
}

}  // namespace evenbevel
