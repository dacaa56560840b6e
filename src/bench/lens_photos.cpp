#include "bench/lens_photos.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <string_view>
#include <utility>

#include "evenbevel/camera_store.hpp"
#include "evenbevel/error.hpp"

namespace evenbevel::bench {
namespace {

using nlohmann::json;

constexpr std::size_t kFewest = 10;  // photos (common practice, no source)
constexpr std::size_t kMost = 20;    // more add little: they stop here, with what is left to say
constexpr double kSeen = 0.9;        // of the picture's cells, as `calibrate --camera` asks

CalibrationBoard board_of(const BenchSettings& settings) {
  return {.chessboard = {}, .print = settings.lens_card.print};
}

std::string decimals(double value, int places) {
  std::string text = std::to_string(value);
  return text.substr(0, text.find('.') + 1 + static_cast<std::size_t>(places));
}

json row(const std::string& label, const std::string& value) {
  return {{"label", label}, {"value", value}, {"U95", ""}, {"note", ""}};
}

json words(const std::string& headline, json rows, std::vector<std::string> next) {
  return {
      {"headline", headline},          {"title", "The camera's lens"}, {"verdict", "none"},
      {"verdict_words", ""},           {"rows", std::move(rows)},      {"next", std::move(next)},
      {"better_photo", json::array()}, {"warnings", json::array()}};
}

/// @throws Error  The photo does not say which camera took it: what is found could never be used.
void require_named(const Photo& photo) {
  if (names_camera(photo.camera)) return;
  throw Error("the photo does not say which camera took it (no EXIF)",
              "take it with the button of this page; where that does not help, copy the photos to "
              "the computer by cable and use 'evenbevel calibrate' there");
}

}  // namespace

LensPhotos::LensPhotos(const BenchSettings& settings)
    : settings_(&settings), photos_(board_of(settings)) {}

std::optional<CalibrationResult> LensPhotos::fitted() const {
  UsableViews usable = usable_views(photos_.sightings());
  if (usable.views.size() < kFewest) return std::nullopt;
  CalibrationResult result =
      calibrate(usable.views, {photos_.camera().width_px, photos_.camera().height_px}, {},
                std::move(usable.left_out));
  result.camera.identity = photos_.camera().identity;
  return result;
}

void LensPhotos::say_next(const std::optional<CalibrationResult>& result, const Photo& photo) {
  constexpr std::array<std::string_view, 4> kTilts = {"its left side raised", "its far side raised",
                                                      "its right side raised",
                                                      "its near side raised"};
  const std::size_t taken = photos_.sightings().size();
  const std::string part =
      emptiest_part(photos_.coverage(), photo.pixels.size(), photo.orientation);
  if (part.empty() && result && !result->advice.empty()) {
    next_ = sentence(result->advice.front(), settings_->unit);
    return;
  }
  next_ = part.empty() ? "Now fill the picture with the card, "
                       : "Now the card in the " + part + " of the picture, ";
  next_ += std::string(kTilts[taken % kTilts.size()]) + " by 20 to 45 degrees.";
}

std::filesystem::path LensPhotos::kept_file(const CameraModel& camera, bool live) const {
  if (live) {
    const std::filesystem::path file = settings_->folder / "camera.yml";
    write_camera_file(camera, file);
    return file;
  }
  const auto folder = default_camera_folder();
  if (!folder) {
    throw Error("there is no home folder to keep the camera file in",
                "set HOME or XDG_DATA_HOME, then start the bench again");
  }
  return keep_camera(camera, *folder).file;
}

LensPhotos::Progress LensPhotos::keep(const CalibrationResult& result, const Photo& photo,
                                      bool live) {
  const double worst_px = *std::ranges::max_element(result.u_corners_px);
  Progress progress;
  progress.known = true;
  progress.file = kept_file(result.camera, live);
  progress.picture_bgr = coverage_picture(result);
  progress.said = words(
      "THE LENS IS KNOWN",
      json::array(
          {row("photos used", std::to_string(result.views.size())),
           row("corners miss by", decimals(result.camera.rms_px.value_or(0.0), 3) + " px RMS"),
           row("u in the worst corner", decimals(worst_px, 2) + " px"),
           row("camera", camera_words(photo.camera, photo.pixels.size()))}),
      {live ? "The camera over the bench is known from now on. Its file is camera.yml in the "
              "bench's folder: name it when the bench is started again."
            : "Photos of this camera, lens and picture size are recognised from now on."});
  json warnings = json::array();
  for (const Remark& advice : result.advice) warnings.push_back(sentence(advice, settings_->unit));
  progress.said["warnings"] = std::move(warnings);
  photos_ = CalibrationPhotos(board_of(*settings_));
  next_.clear();
  return progress;
}

LensPhotos::Progress LensPhotos::add(const Photo& photo, bool live) {
  if (!live) require_named(photo);
  const BoardSighting& sighting = photos_.add(photo.name, photo);
  if (sighting.left_out) {
    const std::string reason = sighting.left_out->reason;
    photos_.drop_last();
    throw Error("this photo of the lens card is of no use: " + reason,
                "lay the lens card flat, let it fill the picture, hold the phone still, with the "
                "same lens and zoom as before");
  }
  const CalibrationView now = sighting.view;
  const std::optional<CalibrationResult> result = fitted();
  const CalibrationCoverage coverage = photos_.coverage();
  const std::size_t taken = photos_.sightings().size();
  const bool good = result && result->advice.empty() && coverage.share() >= kSeen;
  if (result && (good || taken >= kMost)) return keep(*result, photo, live);
  say_next(result, photo);
  const std::string percent = std::to_string(std::lround(100.0 * coverage.share())) + " %";
  Progress progress;
  progress.picture_bgr = gathering_picture(photo, coverage, now);
  progress.said = words(
      "PHOTO " + std::to_string(taken) + " COUNTS",
      json::array(
          {row("photos", std::to_string(taken) + " of " + std::to_string(kFewest) + " or more"),
           row("of the picture seen", percent),
           row("corners in this photo", std::to_string(now.points_px.size()))}),
      {next_});
  return progress;
}

}  // namespace evenbevel::bench
