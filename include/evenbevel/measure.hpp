#pragma once

#include <filesystem>
#include <span>
#include <string>
#include <vector>

#include "evenbevel/camera.hpp"
#include "evenbevel/choil_view.hpp"
#include "evenbevel/edge_set.hpp"
#include "evenbevel/edge_view.hpp"
#include "evenbevel/finish_view.hpp"
#include "evenbevel/practice_view.hpp"
#include "evenbevel/report.hpp"
#include "evenbevel/side_view.hpp"

namespace evenbevel {

// From photos to the report's folder, alike for the command line and the bench page: the camera is
// chosen, the view measured, its report written, and what it says handed on.

struct ChosenCamera {
  CameraModel model;
  const char* from = "";  ///< "option", "exif", "default".
  /// Camera files that cannot be read, each with the reason; they were left out.
  std::vector<std::string> unreadable = {};
};

enum class PhotoSource { file, live };

/// The given camera file, else the one that the photo's EXIF finds in the data folder, else a
/// guess. What is to be told of it goes to the first photo's warnings.
/// @param photos  By one camera; at least one.
/// @param camera_file  May be empty.
/// @throws Error  The camera file cannot be read; two fit alike.
ChosenCamera find_or_guess_camera(std::span<Photo> photos, const std::string& camera_file,
                                  PhotoSource source);

/// The same settings, and where the camera came from.
ReportSettings with_camera(ReportSettings settings, const ChosenCamera& camera);

/// What was measured and is written.
struct Written {
  Statement statement;
  Verdict verdict = Verdict::none;
};

struct WrittenEdge : Written {
  EdgeResult result;
};

// `report`: where the camera came from is filled in. `folder`: as write_edge_report.
// Each throws Error when the photos cannot be measured or the folder cannot be written.

/// One photo by edge_view, several by edge_set.
WrittenEdge measure_edge(const EdgePhotos& photos, const ChosenCamera& camera,
                         const EdgeSettings& settings, const ReportSettings& report,
                         const std::filesystem::path& folder);

Written measure_practice(const Photo& photo, const ChosenCamera& camera,
                         const PracticeSettings& settings, const ReportSettings& report,
                         const std::filesystem::path& folder);

struct FaceToMeasure {
  Face face = Face::left;
  Photo photo;
  ChosenCamera camera;
};

/// @param faces  One or two, of different faces.
Written measure_faces(std::span<const FaceToMeasure> faces, const SideSettings& settings,
                      const ReportSettings& report, const std::filesystem::path& folder);

/// @param photos  One face under one lamp each.
Written measure_finish(std::span<const FaceToMeasure> photos, const FinishSettings& settings,
                       const ReportSettings& report, const std::filesystem::path& folder);

Written measure_section(const Photo& photo, const ChosenCamera& camera,
                        const ChoilSettings& settings, const ReportSettings& report,
                        const std::filesystem::path& folder);

}  // namespace evenbevel
