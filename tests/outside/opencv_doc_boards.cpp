#include "opencv_doc_boards.hpp"

#include <filesystem>

#include <opencv2/imgcodecs.hpp>

namespace evenbevel::test {

std::vector<BoardPhoto> opencv_doc_photos(const std::string& side) {
  std::vector<BoardPhoto> photos;
  for (int i = 1; i <= 14; ++i) {
    std::string name = side;
    name += i < 10 ? "0" : "";
    name += std::to_string(i) + ".jpg";
    const std::filesystem::path path = opencv_doc_folder() / name;
    if (std::filesystem::exists(path)) {
      photos.push_back({name, cv::imread(path.string(), cv::IMREAD_GRAYSCALE)});
    }
  }
  return photos;
}

std::vector<CalibrationView> opencv_doc_views(const std::string& side,
                                              std::optional<int> half_window) {
  const Chessboard board{.columns = 9, .rows = 6, .square_mm = 25.0};
  std::vector<CalibrationView> views;
  for (const BoardPhoto& photo : opencv_doc_photos(side)) {
    auto view = find_chessboard(photo.name, photo.grey, board, half_window);
    if (view) views.push_back(std::move(*view));
  }
  return views;
}

std::filesystem::path opencv_doc_folder() { return "/usr/share/doc/opencv-doc/examples/data"; }

}  // namespace evenbevel::test
