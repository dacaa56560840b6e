#pragma once

#include <filesystem>
#include <optional>
#include <string>

#include <nlohmann/json.hpp>
#include <opencv2/core/mat.hpp>

#include "evenbevel/bench.hpp"
#include "evenbevel/calibrate.hpp"

namespace evenbevel::bench {

/// The photos of the lens card, one after the other until the camera is known well: what each
/// lacks is said and shown, and then the camera file is kept where its photos find it.
class LensPhotos {
 public:
  explicit LensPhotos(const BenchSettings& settings);

  /// After one photo.
  // NOLINTNEXTLINE(bugprone-exception-escape): a json value moves without throwing
  struct Progress {
    nlohmann::json said = {};         ///< As `words_of` a statement.
    cv::Mat picture_bgr = {};         ///< The photo, and which parts of the picture are empty.
    bool known = false;               ///< The camera is: its file is kept.
    std::filesystem::path file = {};  ///< Where, then.
  };

  /// @param live  Of the bench's own camera: its file goes into the bench's folder.
  /// @throws Error  It does not show the card, or is not like the first; it is not counted.
  Progress add(const Photo& photo, bool live);

  void drop_last() { photos_.drop_last(); }
  std::size_t taken() const { return photos_.sightings().size(); }

  /// What the next photo is to show; empty before the first.
  std::string next() const { return next_; }

 private:
  std::optional<CalibrationResult> fitted() const;
  void say_next(const std::optional<CalibrationResult>& result, const Photo& photo);
  Progress keep(const CalibrationResult& result, const Photo& photo, bool live);
  std::filesystem::path kept_file(const CameraModel& camera, bool live) const;

  const BenchSettings* settings_;  // so that it may be copied
  CalibrationPhotos photos_;
  std::string next_;
};

}  // namespace evenbevel::bench
