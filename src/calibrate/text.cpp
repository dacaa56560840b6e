#include <algorithm>
#include <cmath>
#include <string>

#include "evenbevel/calibrate.hpp"
#include "units/fixed.hpp"

namespace evenbevel {

namespace {

/// The value with its standard uncertainty, both to the place of u's second figure.
std::string with_u(double value, double u) {
  const int decimals =
      u > 0.0 ? std::max(0, std::min(6, 1 - static_cast<int>(std::floor(std::log10(u))))) : 2;
  return fixed(value, decimals) + " px, u " + fixed(u, decimals) + " px";
}

void add_line(std::string& text, const std::string& label, const std::string& value) {
  constexpr std::size_t kLabelWide = 18;
  text += label + std::string(kLabelWide - std::min(kLabelWide, label.size()), ' ') + value + '\n';
}

int corners_used(const CalibrationResult& result) {
  int corners = 0;
  for (const CalibratedView& view : result.views) {
    corners += static_cast<int>(view.points_px.size());
  }
  return corners;
}

/// One line for all: a few strays are nothing to worry about.
void add_strays(std::string& text, const std::vector<LeftOut>& left_out) {
  int corners = 0;
  std::string photos;
  for (const LeftOut& out : left_out) {
    if (out.corners == 0) continue;
    corners += out.corners;
    photos += (photos.empty() ? "" : "; ") + out.name + ", " + std::to_string(out.corners) + ": " +
              out.reason;
  }
  if (corners == 0) return;
  add_line(text, "left out",
           std::to_string(corners) + (corners == 1 ? " corner (" : " corners (") + photos + ")");
}

}  // namespace

std::string calibration_text(const CalibrationResult& result) {
  const CameraModel& camera = result.camera;
  const auto u = [&camera](int k) { return std::sqrt((*camera.covariance)(k, k)); };
  std::string text;
  add_line(text, "picture",
           std::to_string(camera.width_px) + " x " + std::to_string(camera.height_px) + " px");
  add_line(text, "lens", std::string(camera.lens.model().name()));
  add_line(text, "focal length x", with_u(camera.focal_px.x(), u(kFocalAt)));
  add_line(text, "focal length y", with_u(camera.focal_px.y(), u(kFocalAt + 1)));
  add_line(text, "centre x", with_u(camera.centre_px.x(), u(kCentreAt)));
  add_line(text, "centre y", with_u(camera.centre_px.y(), u(kCentreAt + 1)));
  add_line(text, "residuals",
           fixed(camera.rms_px.value_or(0.0), 3) + " px RMS over " +
               std::to_string(corners_used(result)) + " corners in " +
               std::to_string(result.views.size()) + " photos");
  const double worst_corner =
      *std::max_element(result.u_corners_px.begin(), result.u_corners_px.end());
  add_line(text, "lens model",
           "u " + fixed(result.u_centre_px, 2) + " px in the middle, " + fixed(worst_corner, 2) +
               " px in the worst corner");
  if (camera.nearest_mm && camera.farthest_mm) {
    add_line(text, "distance",
             length_words(*camera.nearest_mm, " to ", *camera.farthest_mm, 0).said(LengthUnit::mm));
  }
  for (const LeftOut& out : result.left_out) {
    if (out.corners == 0) add_line(text, "left out", out.name + ": " + out.reason);
  }
  add_strays(text, result.left_out);
  for (const Remark& note : result.notes) add_line(text, "note", sentence(note, LengthUnit::mm));
  for (const Remark& advice : result.advice) {
    add_line(text, "better", sentence(advice, LengthUnit::mm));
  }
  return text;
}

}  // namespace evenbevel
