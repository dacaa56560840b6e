#include <algorithm>
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

BoardSighting left_out(const std::string& name, const std::string& reason) {
  BoardSighting sighting;
  sighting.view.name = name;
  sighting.left_out = LeftOut{name, 0, reason};
  return sighting;
}

/// The first photo that shows the board says which camera it is; one from another camera, zoom or
/// size is left out.
BoardSighting sight_like_first(const std::string& name, const Photo& photo,
                               const CalibrationBoard& board, Gathered& gathered) {
  CameraModel& camera = gathered.camera;
  if (camera.width_px > 0) {
    const std::string difference = camera_difference(camera, photo);
    if (difference.empty()) return sight_board(name, grey8(photo.pixels), board);
    return left_out(name, "not like the first photo: " + difference);
  }
  BoardSighting sighting = sight_board(name, grey8(photo.pixels), board);
  if (!sighting.left_out) {
    camera.width_px = photo.pixels.cols;
    camera.height_px = photo.pixels.rows;
    camera.identity = photo.camera;
  }
  return sighting;
}

BoardSighting look_at_photo(const std::filesystem::path& file, const CalibrationBoard& board,
                            Gathered& gathered) {
  const std::string name = file.filename().string();
  try {
    return sight_like_first(name, read_photo(file), board, gathered);
  } catch (const Error& error) {
    return left_out(name, error.what());
  }
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
  Gathered gathered;
  std::vector<BoardSighting> sightings;
  for (std::size_t i = 0; i < files.size(); ++i) {
    const std::string head = std::to_string(i + 1) + "/" + std::to_string(files.size()) + " " +
                             files[i].filename().string();
    progress.moment(head + " ...");
    sightings.push_back(look_at_photo(files[i], board, gathered));
    progress.keep(head + ": " + described(sightings.back()));
  }
  leave_out_blurred(sightings);
  for (BoardSighting& sighting : sightings) {
    if (sighting.left_out) {
      gathered.left_out.push_back(*sighting.left_out);
    } else {
      gathered.views.push_back(std::move(sighting.view));
    }
  }
  if (gathered.views.empty()) {
    reject_all("0 of " + std::to_string(files.size()) + " photos", board, gathered.left_out);
  }
  return gathered;
}

}  // namespace evenbevel::cli
