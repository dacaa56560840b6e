#include <algorithm>
#include <utility>

#include <opencv2/imgproc.hpp>

#include "evenbevel/calibrate.hpp"

namespace evenbevel {

namespace {

const cv::Scalar kBlueBgr(178, 114, 0);  // Okabe and Ito's colours; BGR
const cv::Scalar kVermilionBgr(0, 94, 213);
const cv::Scalar kWhite(255, 255, 255);
const cv::Scalar kInkBgr(33, 33, 33);

void tint_seen_cells(cv::Mat& picture, const CalibrationCoverage& coverage) {
  constexpr int kColumns = CalibrationCoverage::kColumns;
  constexpr int kRows = CalibrationCoverage::kRows;
  cv::Mat tinted = picture.clone();
  for (int row = 0; row < kRows; ++row) {
    for (int column = 0; column < kColumns; ++column) {
      if (coverage.at(row, column) == 0) continue;
      const cv::Point from(column * picture.cols / kColumns, row * picture.rows / kRows);
      const cv::Point to((column + 1) * picture.cols / kColumns - 1,
                         (row + 1) * picture.rows / kRows - 1);
      cv::rectangle(tinted, from, to, kBlueBgr, cv::FILLED);
      cv::rectangle(picture, from, to, kBlueBgr, 1);
    }
  }
  cv::addWeighted(tinted, 0.25, picture, 0.75, 0.0, picture);
}

/// What is still to be shown: framed and crossed, so that it does not hang on its colour.
void mark_empty_cells(cv::Mat& picture, const CalibrationCoverage& coverage) {
  constexpr int kColumns = CalibrationCoverage::kColumns;
  constexpr int kRows = CalibrationCoverage::kRows;
  const int line = std::max(2, picture.cols / 400);
  for (int row = 0; row < kRows; ++row) {
    for (int column = 0; column < kColumns; ++column) {
      if (coverage.at(row, column) > 0) continue;
      const int inset = 2 * line;
      const cv::Point from(column * picture.cols / kColumns + inset,
                           row * picture.rows / kRows + inset);
      const cv::Point to((column + 1) * picture.cols / kColumns - inset,
                         (row + 1) * picture.rows / kRows - inset);
      for (const auto& [colour, width] :
           {std::pair(kWhite, 3 * line), std::pair(kVermilionBgr, line)}) {
        cv::rectangle(picture, from, to, colour, width, cv::LINE_AA);
        cv::line(picture, from, to, colour, width, cv::LINE_AA);
      }
    }
  }
}

cv::Mat eight_bit_bgr(const cv::Mat& pixels) {
  cv::Mat bgr = pixels;
  if (bgr.depth() == CV_16U) bgr.convertTo(bgr, CV_8U, 1.0 / 257.0);
  if (bgr.channels() == 1) cv::cvtColor(bgr, bgr, cv::COLOR_GRAY2BGR);
  return bgr;
}

}  // namespace

cv::Mat gathering_picture(const Photo& photo, const CalibrationCoverage& coverage,
                          const CalibrationView& now) {
  constexpr double kLongest = 1600.0;
  const cv::Size size = photo.pixels.size();
  const double scale = std::min(1.0, kLongest / std::max(size.width, size.height));
  cv::Mat small;
  cv::resize(photo.pixels, small, {}, scale, scale, cv::INTER_AREA);
  cv::Mat picture = eight_bit_bgr(small).clone();
  tint_seen_cells(picture, coverage);
  mark_empty_cells(picture, coverage);
  for (const Eigen::Vector2d& q : now.points_px) {
    const cv::Point at(static_cast<int>((q.x() + 0.5) * scale),
                       static_cast<int>((q.y() + 0.5) * scale));
    cv::circle(picture, at, 5, kWhite, cv::FILLED, cv::LINE_AA);
    cv::circle(picture, at, 3, kInkBgr, cv::FILLED, cv::LINE_AA);
  }
  return upright(picture, photo.orientation);
}

cv::Mat picking_picture(const cv::Mat& frame_bgr, const FramePicker& picker,
                        const CalibrationView& now, const std::string& words) {
  constexpr double kLongest = 1280.0;
  constexpr int kFoot = 40;
  const double scale = std::min(1.0, kLongest / std::max(frame_bgr.cols, frame_bgr.rows));
  cv::Mat picture;
  cv::resize(frame_bgr, picture, {}, scale, scale, cv::INTER_AREA);
  tint_seen_cells(picture, picker.coverage());
  for (const Eigen::Vector2d& q : now.points_px) {
    const cv::Point at(static_cast<int>((q.x() + 0.5) * scale),
                       static_cast<int>((q.y() + 0.5) * scale));
    cv::circle(picture, at, 3, kVermilionBgr, cv::FILLED, cv::LINE_AA);
  }
  cv::copyMakeBorder(picture, picture, 0, kFoot, 0, 0, cv::BORDER_CONSTANT, kWhite);
  cv::putText(picture, words, cv::Point(12, picture.rows - 13), cv::FONT_HERSHEY_SIMPLEX, 0.6,
              kInkBgr, 1, cv::LINE_AA);
  return picture;
}

}  // namespace evenbevel
