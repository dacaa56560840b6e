#include <algorithm>

#include <opencv2/imgproc.hpp>

#include "evenbevel/calibrate.hpp"

namespace evenbevel {

namespace {

const cv::Scalar kBlue(178, 114, 0);  // Okabe and Ito's colours; BGR
const cv::Scalar kVermilion(0, 94, 213);
const cv::Scalar kWhite(255, 255, 255);
const cv::Scalar kInk(33, 33, 33);

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
      cv::rectangle(tinted, from, to, kBlue, cv::FILLED);
      cv::rectangle(picture, from, to, kBlue, 1);
    }
  }
  cv::addWeighted(tinted, 0.25, picture, 0.75, 0.0, picture);
}

}  // namespace

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
    cv::circle(picture, at, 3, kVermilion, cv::FILLED, cv::LINE_AA);
  }
  cv::copyMakeBorder(picture, picture, 0, kFoot, 0, 0, cv::BORDER_CONSTANT, kWhite);
  cv::putText(picture, words, cv::Point(12, picture.rows - 13), cv::FONT_HERSHEY_SIMPLEX, 0.6, kInk,
              1, cv::LINE_AA);
  return picture;
}

}  // namespace evenbevel
