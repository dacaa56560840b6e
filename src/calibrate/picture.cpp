#include <algorithm>
#include <cmath>
#include <memory>
#include <string>

#include <cairo.h>
#include <fmt/format.h>
#include <opencv2/imgproc.hpp>

#include "evenbevel/calibrate.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel {

namespace {

constexpr double kMargin = 30.0;
constexpr double kHead = 110.0;
constexpr double kFoot = 100.0;
constexpr double kLongestSide = 1100.0;  ///< Of the camera's picture, drawn.
constexpr double kListWide = 520.0;
constexpr double kLine = 26.0;

struct Colour {
  double r, g, b;
};
// Okabe and Ito's colours, told apart by all common kinds of colour vision.
constexpr Colour kInk{0.13, 0.13, 0.13};
constexpr Colour kQuiet{0.45, 0.45, 0.45};
constexpr Colour kBlue{0.0, 0.447, 0.698};
constexpr Colour kVermilion{0.835, 0.369, 0.0};

using Context = std::unique_ptr<cairo_t, decltype(&cairo_destroy)>;
using Surface = std::unique_ptr<cairo_surface_t, decltype(&cairo_surface_destroy)>;

void use(cairo_t* c, Colour colour, double alpha = 1.0) {
  cairo_set_source_rgba(c, colour.r, colour.g, colour.b, alpha);
}

enum class Align { left, right, middle };

double wide(cairo_t* c, const std::string& text) {
  cairo_text_extents_t extents;
  cairo_text_extents(c, text.c_str(), &extents);
  return extents.x_advance;
}

void write_text(cairo_t* c, double x, double y, double size, const std::string& text,
                Align align = Align::left) {
  cairo_set_font_size(c, size);
  if (align == Align::right) x -= wide(c, text);
  if (align == Align::middle) x -= 0.5 * wide(c, text);
  cairo_move_to(c, x, y);
  cairo_show_text(c, text.c_str());
}

/// Shortened from the front: the end of a file name tells photos apart.
std::string fitted(cairo_t* c, std::string text, double size, double room) {
  cairo_set_font_size(c, size);
  if (wide(c, text) <= room) return text;
  while (text.size() > 4 && wide(c, "..." + text) > room) text.erase(0, 1);
  return "..." + text;
}

struct Frame {
  double left = kMargin;
  double top = kHead;
  double width = 0.0;
  double height = 0.0;
  double scale = 1.0;  ///< Drawn px per camera px.

  double x(double x_px) const { return left + (x_px + 0.5) * scale; }
  double y(double y_px) const { return top + (y_px + 0.5) * scale; }
};

Frame frame_of(const CameraModel& camera) {
  Frame frame;
  frame.scale = kLongestSide / std::max(camera.width_px, camera.height_px);
  frame.width = camera.width_px * frame.scale;
  frame.height = camera.height_px * frame.scale;
  return frame;
}

void hatch(cairo_t* c, double x, double y, double w, double h) {
  cairo_save(c);
  cairo_rectangle(c, x, y, w, h);
  cairo_clip(c);
  use(c, kVermilion, 0.55);
  cairo_set_line_width(c, 1.0);
  constexpr double kApart = 11.0;
  for (int stroke = 0; stroke * kApart < w + h; ++stroke) {
    const double offset = stroke * kApart - h;
    cairo_move_to(c, x + offset, y + h);
    cairo_line_to(c, x + offset + h, y);
  }
  cairo_stroke(c);
  cairo_restore(c);
}

void draw_cells(cairo_t* c, const Frame& frame, const CalibrationCoverage& coverage) {
  constexpr int kColumns = CalibrationCoverage::kColumns;
  constexpr int kRows = CalibrationCoverage::kRows;
  const double most =
      std::max(1, *std::max_element(coverage.corners.begin(), coverage.corners.end()));
  const double w = frame.width / kColumns;
  const double h = frame.height / kRows;
  for (int row = 0; row < kRows; ++row) {
    for (int column = 0; column < kColumns; ++column) {
      const int n = coverage.at(row, column);
      const double x = frame.left + column * w;
      const double y = frame.top + row * h;
      if (n == 0) {
        hatch(c, x, y, w, h);
        continue;
      }
      use(c, kBlue, 0.06 + 0.30 * std::sqrt(n / most));
      cairo_rectangle(c, x, y, w, h);
      cairo_fill(c);
    }
  }
  use(c, kInk);
  cairo_set_line_width(c, 2.0);
  cairo_rectangle(c, frame.left, frame.top, frame.width, frame.height);
  cairo_stroke(c);
}

std::vector<double> residual_lengths(const CalibrationResult& result) {
  std::vector<double> lengths;
  for (const CalibratedView& view : result.views) {
    for (const Eigen::Vector2d& r : view.residuals_px) lengths.push_back(r.norm());
  }
  std::sort(lengths.begin(), lengths.end());
  return lengths;
}

/// A round factor that draws a long residual (95 of 100 are shorter) about as long as a word.
double magnification(const std::vector<double>& sorted_lengths, double scale) {
  if (sorted_lengths.empty()) return 1.0;
  const double longish = sorted_lengths[sorted_lengths.size() * 95 / 100];
  const double wanted = 40.0 / std::max(1e-6, longish * scale);
  const double decade = std::pow(10.0, std::floor(std::log10(wanted)));
  for (const double step : {5.0, 2.0, 1.0}) {
    if (wanted >= step * decade) return std::max(1.0, step * decade);
  }
  return 1.0;
}

void draw_residuals(cairo_t* c, const Frame& frame, const CalibrationResult& result,
                    double factor) {
  for (const CalibratedView& view : result.views) {
    for (std::size_t i = 0; i < view.points_px.size(); ++i) {
      const double x = frame.x(view.points_px[i].x());
      const double y = frame.y(view.points_px[i].y());
      use(c, kVermilion, 0.9);
      cairo_set_line_width(c, 1.3);
      cairo_move_to(c, x, y);
      cairo_rel_line_to(c, view.residuals_px[i].x() * frame.scale * factor,
                        view.residuals_px[i].y() * frame.scale * factor);
      cairo_stroke(c);
      use(c, kInk);
      cairo_arc(c, x, y, 1.7, 0.0, 6.2832);
      cairo_fill(c);
    }
  }
}

std::vector<cv::Point2f> outermost_px(const CalibrationResult& result) {
  std::vector<cv::Point2f> corners;
  for (const CalibratedView& view : result.views) {
    for (const Eigen::Vector2d& q : view.points_px) {
      corners.emplace_back(static_cast<float>(q.x()), static_cast<float>(q.y()));
    }
  }
  std::vector<cv::Point2f> hull;
  if (!corners.empty()) cv::convexHull(corners, hull);
  return hull;
}

/// Share of the picture that the outermost corners enclose.
double reach(const CalibrationResult& result) {
  const std::vector<cv::Point2f> hull = outermost_px(result);
  if (hull.size() < 3) return 0.0;
  return cv::contourArea(hull) /
         (static_cast<double>(result.camera.width_px) * result.camera.height_px);
}

void dashed(cairo_t* c) {
  const double dash[] = {9.0, 6.0};
  use(c, kInk);
  cairo_set_line_width(c, 1.6);
  cairo_set_dash(c, dash, 2, 0.0);
  cairo_stroke(c);
  cairo_set_dash(c, dash, 0, 0.0);
}

void draw_outermost(cairo_t* c, const Frame& frame, const CalibrationResult& result) {
  cairo_new_path(c);
  for (const cv::Point2f& q : outermost_px(result)) {
    cairo_line_to(c, frame.x(q.x), frame.y(q.y));
  }
  cairo_close_path(c);
  dashed(c);
}

void draw_head(cairo_t* c, const CalibrationResult& result) {
  int corners = 0;
  for (const CalibratedView& view : result.views)
    corners += static_cast<int>(view.points_px.size());
  use(c, kInk);
  cairo_select_font_face(c, "sans-serif", CAIRO_FONT_SLANT_NORMAL, CAIRO_FONT_WEIGHT_BOLD);
  write_text(c, kMargin, 46.0, 28.0,
             "Where the camera has seen the card: " + std::to_string(result.views.size()) +
                 " photos, " + std::to_string(corners) + " corners");
  cairo_select_font_face(c, "sans-serif", CAIRO_FONT_SLANT_NORMAL, CAIRO_FONT_WEIGHT_NORMAL);
  const CameraModel& camera = result.camera;
  write_text(c, kMargin, 84.0, 20.0,
             std::to_string(camera.width_px) + " x " + std::to_string(camera.height_px) +
                 " px, focal length " + fmt::format("{:.1f}", camera.focal_px.x()) + " / " +
                 fmt::format("{:.1f} px", camera.focal_px.y()) + ", residuals " +
                 fmt::format("{:.3f} px RMS", camera.rms_px.value_or(0.0)) +
                 ", corners reach over " + fmt::format("{:.0f} %", 100.0 * reach(result)) +
                 " of the picture");
}

void draw_legend(cairo_t* c, const Frame& frame, double factor, double longest_px) {
  const double y = frame.top + frame.height + 38.0;
  use(c, kInk);
  cairo_arc(c, kMargin + 8.0, y - 6.0, 3.0, 0.0, 6.2832);
  cairo_fill(c);
  write_text(c, kMargin + 20.0, y, 18.0, "corner");
  use(c, kVermilion);
  cairo_set_line_width(c, 2.0);
  cairo_move_to(c, kMargin + 110.0, y - 6.0);
  cairo_rel_line_to(c, 34.0, 0.0);
  cairo_stroke(c);
  use(c, kInk);
  write_text(c, kMargin + 154.0, y, 18.0,
             "residual, drawn " + fmt::format("{:.0f}", factor) + " times as long (longest " +
                 fmt::format("{:.2f} px)", longest_px));
  hatch(c, kMargin + 640.0, y - 18.0, 40.0, 22.0);
  use(c, kInk);
  write_text(c, kMargin + 690.0, y, 18.0, "no corner seen here");
  const double below = y + 30.0;
  use(c, kBlue, 0.36);
  cairo_rectangle(c, kMargin, below - 16.0, 34.0, 20.0);
  cairo_fill(c);
  use(c, kInk);
  write_text(c, kMargin + 44.0, below, 18.0, "the darker, the more corners");
  cairo_move_to(c, kMargin + 320.0, below - 6.0);
  cairo_rel_line_to(c, 44.0, 0.0);
  dashed(c);
  write_text(c, kMargin + 374.0, below, 18.0,
             "outermost corners: beyond them the lens is only guessed");
}

double list_left(const Frame& frame) { return frame.left + frame.width + 40.0; }

void draw_photo_bars(cairo_t* c, const Frame& frame, const CalibrationResult& result) {
  double most = 1e-9;
  for (const CalibratedView& view : result.views) most = std::max(most, view.rms_px);
  const double left = list_left(frame);
  double y = frame.top + 18.0;
  use(c, kInk);
  write_text(c, left, y, 18.0, "Residual of each photo, px RMS");
  for (const CalibratedView& view : result.views) {
    y += kLine;
    use(c, kInk);
    write_text(c, left, y, 16.0, fitted(c, view.name, 16.0, 210.0));
    use(c, kBlue);
    cairo_rectangle(c, left + 220.0, y - 13.0, 190.0 * view.rms_px / most, 14.0);
    cairo_fill(c);
    use(c, kInk);
    write_text(c, left + kListWide - 20.0, y, 16.0, fmt::format("{:.3f}", view.rms_px),
               Align::right);
  }
  for (const LeftOut& out : result.left_out) {
    y += kLine;
    use(c, kVermilion);
    write_text(c, left, y, 16.0, fitted(c, out.name, 16.0, 210.0));
    use(c, kQuiet);
    const std::string what =
        out.corners == 0 ? "left out: " + out.reason
                         : std::to_string(out.corners) +
                               (out.corners == 1 ? " corner left out" : " corners left out");
    write_text(c, left + 220.0, y, 14.0, what.substr(0, 44));
  }
}

double list_high(const CalibrationResult& result) {
  return kLine * (static_cast<double>(result.views.size() + result.left_out.size()) + 2.0);
}

/// A dot a photo: how far the card leaned (from the middle outward) and to which side.
void draw_tilts(cairo_t* c, const Frame& frame, const CalibrationResult& result) {
  constexpr double kRadius = 105.0;
  constexpr double kOutermost_deg = 60.0;
  const double x = list_left(frame) + kRadius + 40.0;
  const double y = frame.top + list_high(result) + 50.0 + kRadius;
  use(c, kInk);
  write_text(c, list_left(frame), y - kRadius - 24.0, 18.0, "Tilt of the card, one dot a photo");
  cairo_set_line_width(c, 1.0);
  for (const double ring_deg : {20.0, 40.0, 60.0}) {
    use(c, kQuiet, 0.6);
    cairo_new_path(c);
    cairo_arc(c, x, y, kRadius * ring_deg / kOutermost_deg, 0.0, 6.2832);
    cairo_stroke(c);
    use(c, kQuiet);
    write_text(c, x + 3.0, y - kRadius * ring_deg / kOutermost_deg - 3.0, 13.0,
               fmt::format("{:.0f} degrees", ring_deg));
  }
  for (const CalibratedView& view : result.views) {
    const Eigen::Vector3d normal = view.T_camera_card.matrix.linear().col(2);
    const Eigen::Vector2d lean = normal.head<2>().normalized() * degrees(view.tilt_rad);
    use(c, kBlue);
    cairo_new_path(c);
    cairo_arc(c, x + kRadius * lean.x() / kOutermost_deg, y + kRadius * lean.y() / kOutermost_deg,
              5.0, 0.0, 6.2832);
    cairo_fill(c);
  }
}

}  // namespace

cv::Mat coverage_picture(const CalibrationResult& result) {
  const Frame frame = frame_of(result.camera);
  constexpr double kTiltHigh = 310.0;
  const int width = static_cast<int>(list_left(frame) + kListWide);
  const int height =
      static_cast<int>(frame.top + std::max(frame.height, list_high(result) + kTiltHigh) + kFoot);
  const Surface surface(cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height),
                        &cairo_surface_destroy);
  const Context context(cairo_create(surface.get()), &cairo_destroy);
  cairo_t* c = context.get();
  cairo_set_source_rgb(c, 1.0, 1.0, 1.0);
  cairo_paint(c);
  const std::vector<double> lengths = residual_lengths(result);
  const double factor = magnification(lengths, frame.scale);
  draw_head(c, result);
  draw_cells(c, frame, result.coverage);
  draw_residuals(c, frame, result, factor);
  draw_outermost(c, frame, result);
  draw_legend(c, frame, factor, lengths.empty() ? 0.0 : lengths.back());
  draw_photo_bars(c, frame, result);
  draw_tilts(c, frame, result);
  cairo_surface_flush(surface.get());
  const cv::Mat view(height, width, CV_8UC4, cairo_image_surface_get_data(surface.get()),
                     static_cast<std::size_t>(cairo_image_surface_get_stride(surface.get())));
  cv::Mat picture;
  cv::cvtColor(view, picture, cv::COLOR_BGRA2BGR);
  return picture;
}

}  // namespace evenbevel
