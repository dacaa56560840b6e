#include <algorithm>
#include <cmath>

#include <opencv2/imgproc.hpp>

#include "report/ribbon.hpp"
#include "report/side_picture_parts.hpp"

namespace evenbevel {
namespace {

/// The part of the photo that the box shows, as the blade frame has it.
cv::Mat rectified(const FaceView& view, const FacePhoto& photo, const FaceMap& map) {
  const cv::Size size(static_cast<int>(view.box.width), static_cast<int>(view.box.height));
  cv::Mat where(size, CV_32FC2);
  cv::parallel_for_(cv::Range(0, size.height), [&](const cv::Range& rows) {
    for (int i = rows.start; i < rows.end; ++i) {
      for (int j = 0; j < size.width; ++j) {
        const cv::Point2d centre(view.box.x + j + 0.5, view.box.y + i + 0.5);
        const Eigen::Vector2d q = map.px_of(view.xz(centre));
        where.at<cv::Vec2f>(i, j) = {static_cast<float>(q.x()), static_cast<float>(q.y())};
      }
    }
  });
  cv::Mat picture;
  cv::remap(photo.photo->pixels, picture, where, cv::noArray(), cv::INTER_CUBIC,
            cv::BORDER_CONSTANT, cv::Scalar::all(0));
  return to_bgr8(picture);
}

double distance(const cv::Point2d& a, const cv::Point2d& b) { return cv::norm(a - b); }

std::string face_name(const FacePhoto& photo) {
  return photo.face == Face::left ? "LEFT face, mirrored" : "RIGHT face";
}

/// What the other face has to lose does not part the stretches that this one is left alone in.
std::vector<BevelZone> as_one_face(std::span<const BevelZone> zones, Face face, double step_mm) {
  std::vector<BevelZone> own;
  for (const BevelZone& zone : zones) {
    const bool goes_on = !own.empty() && own.back().grind != face && zone.grind != face &&
                         zone.from_mm - own.back().to_mm < 1.5 * step_mm;
    if (goes_on) {
      own.back().to_mm = zone.to_mm;
    } else {
      own.push_back(zone);
    }
  }
  return own;
}

}  // namespace

Stroke face_trace_pen(FaceTrace::Kind kind) {
  const Colour casing = palette::kInk.with_alpha(0.7);
  switch (kind) {
    case FaceTrace::Kind::bevel:
      return {.colour = palette::kOrange,
              .width = 3.0,
              .style = LineStyle::long_dashed,
              .casing = casing};
    case FaceTrace::Kind::plunge:
      return {
          .colour = palette::kYellow, .width = 4.0, .style = LineStyle::dash_dot, .casing = casing};
    case FaceTrace::Kind::edge:
    case FaceTrace::Kind::spine:
      break;
  }
  return {.colour = palette::kSkyBlue, .width = 2.5, .casing = casing};
}

std::vector<std::vector<cv::Point2d>> unbroken(const std::vector<cv::Point2d>& points) {
  if (points.size() < 2) return {};
  std::vector<double> steps;
  for (std::size_t i = 1; i < points.size(); ++i) {
    steps.push_back(distance(points[i - 1], points[i]));
  }
  const auto middle = steps.begin() + static_cast<std::ptrdiff_t>(steps.size() / 2);
  std::nth_element(steps.begin(), middle, steps.end());
  constexpr double kFewPagePixels = 12.0;
  const double gap = std::max(kFewPagePixels, 3.0 * *middle);
  std::vector<std::vector<cv::Point2d>> pieces(1);
  for (const cv::Point2d& p : points) {
    std::vector<cv::Point2d>& piece = pieces.back();
    if (!piece.empty() && distance(piece.back(), p) > gap) {
      pieces.push_back({p});
    } else {
      piece.push_back(p);
    }
  }
  return pieces;
}

void draw_face(Canvas& canvas, const FaceView& view, const SideResult& result,
               const FacePhoto& photo, const FaceMap& map) {
  canvas.paste(rectified(view, photo, map),
               {static_cast<int>(view.box.x), static_cast<int>(view.box.y)});
  const Clip clip(canvas, view.box);
  for (const FaceTrace& trace : result.traces) {
    if (trace.face != photo.face) continue;
    std::vector<cv::Point2d> points;
    points.reserve(trace.points_px.size());
    for (const Eigen::Vector2d& q : trace.points_px) points.push_back(view.page(map.xz_of(q)));
    for (const auto& piece : unbroken(points)) canvas.line(piece, face_trace_pen(trace.kind));
  }
  canvas.text({view.box.x + 14.0, view.box.y + 38.0}, face_name(photo), plate_font(kSmall + 4.0));
  canvas.text({view.box.right() - 14.0, view.box.y + 38.0}, "to the tip \u2192",
              plate_font(kSmall, Align::right));
}

void draw_face_ribbon(Canvas& canvas, const FaceView& view, Face face,
                      std::span<const BevelZone> zones, double step_mm, LengthUnit unit) {
  const Box box{view.box.x, view.box.bottom(), view.box.width, kRibbonHeight};
  const Clip clip(canvas, box);
  for (const BevelZone& zone : as_one_face(zones, face, step_mm)) {
    // A station stands for half a step on either side.
    const double left = std::max(view.x(zone.from_mm - 0.5 * step_mm), box.x);
    const double right = std::min(view.x(zone.to_mm + 0.5 * step_mm), box.right());
    if (right <= left) continue;
    const Box part{left + 1.0, box.y, std::max(right - left - 2.0, 1.0), box.height};
    draw_ribbon_part(canvas, part, zone.grind == face ? Standing::outside : Standing::on_line,
                     sentence(bevel_face_remark(zone, face), unit));
  }
}

void draw_x_ticks(Canvas& canvas, const FaceView& view, double y, LengthUnit unit) {
  const double unit_mm = unit == LengthUnit::mm ? 1.0 : kMmPerInch;
  const double low = view.x_from_mm / unit_mm;
  const double high = view.xz({view.box.right(), 0.0}).x() / unit_mm;
  const double step = tick_step(view.px_per_mm * unit_mm, 140.0);
  constexpr int kFinePerStep = 5;
  const double fine = step / kFinePerStep;
  for (int tick = static_cast<int>(std::ceil(low / fine)); tick * fine <= high; ++tick) {
    const bool major = tick % kFinePerStep == 0;
    const double at = view.x(tick * fine * unit_mm);
    canvas.line({at, y}, {at, y + (major ? 14.0 : 8.0)}, {.width = major ? 3.0 : 1.5});
    if (!major || at < view.box.x + 20.0 || at > view.box.right() - 110.0) continue;
    canvas.text({at, y + 44.0}, tick_text(tick * fine, step),
                {.size = kSmall, .align = Align::centre});
  }
  canvas.text({view.box.right(), y + 44.0}, unit == LengthUnit::mm ? "x, mm" : "x, in",
              {.size = kSmall, .align = Align::right});
}

void mark_worst_x(Canvas& canvas, const FaceView& view, const SideResult& result) {
  if (!measured(result.bevel_height_difference_worst_mm)) return;
  const double x = view.x(result.worst_x_mm);
  constexpr double kLength = 46.0;
  const Stroke pen{.colour = palette::kPaper, .width = 4.0, .casing = palette::kInk};
  canvas.line({x, view.box.y}, {x, view.box.y + kLength}, pen);
  canvas.line({x, view.box.bottom() - kLength}, {x, view.box.bottom()}, pen);
}

}  // namespace evenbevel
