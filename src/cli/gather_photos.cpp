#include <algorithm>
#include <future>
#include <optional>
#include <utility>

#include "evenbevel/error.hpp"
#include "evenbevel/photo.hpp"
#include "gather_views.hpp"

namespace evenbevel::cli {
namespace {

std::string board_name(const CalibrationBoard& board) {
  return board.chessboard ? "chessboard" : "lens card";
}

std::vector<std::filesystem::path> all_files(const std::vector<std::filesystem::path>& given) {
  std::vector<std::filesystem::path> files;
  for (const std::filesystem::path& path : given) {
    const std::vector<std::filesystem::path> found = photo_files(path);
    files.insert(files.end(), found.begin(), found.end());
  }
  return files;
}

std::future<Photo> coming(const std::filesystem::path& file) {
  return std::async(std::launch::async, read_photo, file);
}

const BoardSighting& look_at_photo(const std::string& name, std::future<Photo> coming,
                                   CalibrationPhotos& photos) {
  std::optional<Photo> photo;
  try {
    photo = coming.get();
  } catch (const Error& error) {
    return photos.add_left_out(name, error.what());
  }
  return photos.add(name, *photo);
}

}  // namespace

std::string described(const BoardSighting& sighting) {
  if (sighting.left_out) return "left out: " + sighting.left_out->reason;
  return std::to_string(sighting.view.points_px.size()) + " corners";
}

void reject_all(const std::string& what, const CalibrationBoard& board,
                const std::vector<LeftOut>& left_out) {
  std::string text = what + " show the " + board_name(board);
  for (std::size_t i = 0; i < std::min<std::size_t>(3, left_out.size()); ++i) {
    text += (i == 0 ? ": " : "; ") + left_out[i].name + " (" + left_out[i].reason + ")";
  }
  throw Error(text, board.chessboard
                        ? "check the number of inner corners, and take photos with the whole board "
                          "in view, flat and sharp"
                        : "print the card ('evenbevel card lens'), tape it to something flat and "
                          "take 12 sharp photos that it fills");
}

Gathered gather_photos(const std::vector<std::filesystem::path>& paths,
                       const CalibrationBoard& board, Progress& progress) {
  const std::vector<std::filesystem::path> files = all_files(paths);
  CalibrationPhotos photos(board);
  std::future<Photo> next = files.empty() ? std::future<Photo>() : coming(files.front());
  for (std::size_t i = 0; i < files.size(); ++i) {
    const std::string name = files[i].filename().string();
    progress.step(i, files.size(), name);
    // The next one is read while this one is looked at.
    std::future<Photo> photo =
        std::exchange(next, i + 1 < files.size() ? coming(files[i + 1]) : std::future<Photo>());
    progress.keep(std::to_string(i + 1) + "/" + std::to_string(files.size()) + " " + name + ": " +
                  described(look_at_photo(name, std::move(photo), photos)));
  }
  UsableViews usable = usable_views(photos.sightings());
  Gathered gathered{std::move(usable.views), std::move(usable.left_out), photos.camera()};
  if (gathered.views.empty()) {
    reject_all("0 of " + std::to_string(files.size()) + " photos", board, gathered.left_out);
  }
  return gathered;
}

}  // namespace evenbevel::cli
