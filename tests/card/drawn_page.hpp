#pragma once

#include <filesystem>
#include <memory>
#include <vector>

#include <Eigen/Core>
#include <opencv2/core/mat.hpp>

#include "evenbevel/card.hpp"

namespace evenbevel::test {

enum class Way { right, down };

/// A drawn page, read back: mm from its top left corner, x right, y down.
class DrawnPage {
 public:
  virtual ~DrawnPage() = default;

  virtual Eigen::Vector2d size_mm() const = 0;
  /// 'B' black, 'W' white, 'G' the lane's green (0, 110, 60), '?' anything else.
  virtual char ink(const Eigen::Vector2d& at_mm) const = 0;
  /// Where the ink changes between dark (black, green) and white on the way from a point, in mm
  /// along the way from the page's rim.
  virtual std::vector<double> borders_mm(const Eigen::Vector2d& from_mm, Way way,
                                         double length_mm) const = 0;
};

/// Draws the card and reads it back: PNG by its own pixels and pHYs, PDF through pdftoppm
/// (poppler-utils), SVG by its rectangles.
std::unique_ptr<DrawnPage> drawn_page(CardKind kind, Sheet sheet, CardFormat format);

/// Reads a card's file.
std::unique_ptr<DrawnPage> read_page(const std::filesystem::path& file, CardFormat format);

/// BGR picture of a PDF.
cv::Mat raster_of_pdf(const std::filesystem::path& file, int dots_per_inch);

}  // namespace evenbevel::test
