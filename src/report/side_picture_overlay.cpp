#include <algorithm>
#include <cmath>

#include "report/side_picture_parts.hpp"

namespace evenbevel {
namespace {

const FaceTrace* trace_of(const SideResult& result, Face face, FaceTrace::Kind kind) {
  for (const FaceTrace& trace : result.traces) {
    if (trace.face == face && trace.kind == kind && trace.points_mm.size() > 1) return &trace;
  }
  return nullptr;
}

/// Height of the bevel line above the card's z = 0 at x, between two points of its trace.
std::optional<double> height_at(const FaceTrace* trace, double x_mm) {
  constexpr double kWidestGap_mm = 3.0;
  if (trace == nullptr) return std::nullopt;
  const Eigen::Vector2d* below = nullptr;
  const Eigen::Vector2d* above = nullptr;
  for (const Eigen::Vector2d& p : trace->points_mm) {
    if (p.x() <= x_mm && (below == nullptr || p.x() > below->x())) below = &p;
    if (p.x() >= x_mm && (above == nullptr || p.x() < above->x())) above = &p;
  }
  if (below == nullptr || above == nullptr) return std::nullopt;
  const double apart = above->x() - below->x();
  if (apart > kWidestGap_mm) return std::nullopt;
  const double share = apart > 0.0 ? (x_mm - below->x()) / apart : 0.0;
  return below->y() + share * (above->y() - below->y());
}

/// Middle of both bevel lines and half their difference, at a station.
struct BevelPair {
  double x_mm, middle_mm, half_difference_mm;
};

std::vector<BevelPair> bevel_pairs(const SideResult& result) {
  const FaceTrace* left = trace_of(result, Face::left, FaceTrace::Kind::bevel);
  const FaceTrace* right = trace_of(result, Face::right, FaceTrace::Kind::bevel);
  std::vector<BevelPair> pairs;
  for (const SideStation& station : result.stations) {
    const std::optional<Measured> difference = measured(station.bevel_height_difference_mm);
    const std::optional<double> l = height_at(left, station.x_mm);
    const std::optional<double> r = height_at(right, station.x_mm);
    if (!difference || !l || !r) continue;
    pairs.push_back({station.x_mm, 0.5 * (*l + *r), 0.5 * difference->value});
  }
  return pairs;
}

std::vector<cv::Point2d> page_points(const FaceView& view, const FaceTrace& trace) {
  std::vector<cv::Point2d> points;
  points.reserve(trace.points_mm.size());
  for (const Eigen::Vector2d& p : trace.points_mm) points.push_back(view.page(p));
  return points;
}

/// The blade itself: where edge and spine run, in grey.
void draw_outline(Canvas& canvas, const FaceView& view, const SideResult& result) {
  for (const FaceTrace::Kind kind : {FaceTrace::Kind::edge, FaceTrace::Kind::spine}) {
    const FaceTrace* trace = trace_of(result, Face::left, kind);
    if (trace == nullptr) trace = trace_of(result, Face::right, kind);
    if (trace == nullptr) continue;
    for (const auto& piece : unbroken(page_points(view, *trace))) {
      canvas.line(piece, {.colour = palette::kGrey, .width = 2.5});
    }
  }
}

double sign_of(Face face) { return face == Face::left ? 1.0 : -1.0; }

void draw_bevel_line(Canvas& canvas, const FaceView& view, const std::vector<BevelPair>& pairs,
                     Face face, double factor) {
  std::vector<cv::Point2d> points;
  for (const BevelPair& pair : pairs) {
    const double z_mm = pair.middle_mm + sign_of(face) * factor * pair.half_difference_mm;
    points.push_back(view.page({pair.x_mm, z_mm}));
  }
  for (const auto& piece : unbroken(points)) canvas.line(piece, face_pen(face));
}

void draw_plunge_line(Canvas& canvas, const FaceView& view, const SideResult& result, Face face,
                      double factor) {
  std::vector<cv::Point2d> points;
  for (const PlungeAtHeight& plunge : result.plunges) {
    if (!measured(plunge.left_mm) || !measured(plunge.right_mm)) continue;
    const double middle_mm = 0.5 * (plunge.left_mm->value + plunge.right_mm->value);
    const double half_mm = 0.5 * (plunge.left_mm->value - plunge.right_mm->value);
    points.push_back(view.page({middle_mm + sign_of(face) * factor * half_mm, plunge.z_mm}));
  }
  canvas.line(points, face_pen(face));
  if (points.empty()) return;
  const cv::Point2d top =
      *std::min_element(points.begin(), points.end(),
                        [](const cv::Point2d& a, const cv::Point2d& b) { return a.y < b.y; });
  canvas.text(top + cv::Point2d(0.0, face == Face::left ? -52.0 : -14.0),
              face == Face::left ? "left" : "right",
              {.size = kSmall,
               .bold = true,
               .colour = face_pen(face).colour,
               .align = Align::centre,
               .plate = kPlate});
}

// ---- the difference along the blade ----

struct DifferencePlot {
  Box box;
  double px_per_mm = 1.0;

  double y(double mm) const {
    return std::clamp(box.y + 0.5 * box.height - px_per_mm * mm, box.y, box.bottom());
  }
};

double limit_of(const SideResult& result, const ReportSettings& settings) {
  double limit_mm = std::max(0.01, 1.25 * settings.tolerance_mm.value_or(0.0));
  for (const SideStation& station : result.stations) {
    const std::optional<Measured> d = measured(station.bevel_height_difference_mm);
    if (d) limit_mm = std::max(limit_mm, 1.05 * (std::abs(d->value) + U95(*d)));
  }
  return limit_mm;
}

using DifferenceRun = std::vector<std::pair<double, Measured>>;  // page x and difference

std::vector<DifferenceRun> runs_of(const FaceView& view, const SideResult& result) {
  std::vector<DifferenceRun> runs(1);
  for (const SideStation& station : result.stations) {
    const std::optional<Measured> difference = measured(station.bevel_height_difference_mm);
    if (difference) {
      runs.back().emplace_back(view.x(station.x_mm), *difference);
    } else if (!runs.back().empty()) {
      runs.emplace_back();
    }
  }
  return runs;
}

void draw_run(Canvas& canvas, const DifferencePlot& plot, const DifferenceRun& run) {
  std::vector<cv::Point2d> outline;
  std::vector<cv::Point2d> curve;
  for (const auto& [x, d] : run) {
    outline.emplace_back(x, plot.y(d.value + U95(d)));
    curve.emplace_back(x, plot.y(d.value));
  }
  for (auto place = run.rbegin(); place != run.rend(); ++place) {
    outline.emplace_back(place->first, plot.y(place->second.value - U95(place->second)));
  }
  canvas.area(outline, kBand.with_alpha(0.55));
  canvas.line(curve, {.colour = palette::kBlue, .width = 5.0});
}

void label_worst(Canvas& canvas, const FaceView& view, const DifferencePlot& plot,
                 const SideResult& result, LengthUnit unit) {
  const std::optional<Measured> worst = measured(result.bevel_height_difference_worst_mm);
  if (!worst) return;
  const double x = view.x(result.worst_x_mm);
  const double y = plot.y(worst->value);
  canvas.circle({x, y}, 12.0, {.width = 4.0});
  const bool at_left = x < plot.box.x + 0.5 * plot.box.width;
  const double away = worst->value > 0.0 ? plot.box.bottom() - 18.0 : plot.box.y + 44.0;
  canvas.text({x + (at_left ? 24.0 : -24.0), away},
              "worst " + printed_length(*worst, unit, Sign::always).value,
              plate_font(kBody, at_left ? Align::left : Align::right));
  canvas.line({x, y + (worst->value > 0.0 ? 12.0 : -12.0)}, {x, away - 12.0}, {.width = 2.0});
}

}  // namespace

Stroke face_pen(Face face) {
  if (face == Face::left) return {.colour = palette::kBlue, .width = 5.0};
  return {.colour = palette::kVermilion, .width = 5.0, .style = LineStyle::long_dashed};
}

double overlay_factor(const SideResult& result, double px_per_mm) {
  constexpr double kWidest_px = 90.0;  // between the two lines
  constexpr double kMost = 100.0;
  double widest_mm = 1e-3;
  for (const BevelPair& pair : bevel_pairs(result)) {
    widest_mm = std::max(widest_mm, 2.0 * std::abs(pair.half_difference_mm));
  }
  for (const PlungeAtHeight& plunge : result.plunges) {
    if (!measured(plunge.left_mm) || !measured(plunge.right_mm)) continue;
    widest_mm = std::max(widest_mm, std::abs(plunge.left_mm->value - plunge.right_mm->value));
  }
  return round_factor(std::clamp(kWidest_px / (px_per_mm * widest_mm), 1.0, kMost));
}

void draw_overlay(Canvas& canvas, const FaceView& view, const SideResult& result, double factor) {
  canvas.fill(view.box, palette::kPale.with_alpha(0.6));
  const Clip clip(canvas, view.box);
  draw_outline(canvas, view, result);
  const std::vector<BevelPair> pairs = bevel_pairs(result);
  for (const Face face : {Face::left, Face::right}) {
    draw_bevel_line(canvas, view, pairs, face, factor);
    draw_plunge_line(canvas, view, result, face, factor);
  }
}

void draw_difference(Canvas& canvas, const FaceView& view, const Box& box, const SideResult& result,
                     const ReportSettings& settings) {
  const DifferencePlot plot{box, 0.5 * box.height / limit_of(result, settings)};
  canvas.fill(box, palette::kPale.with_alpha(0.6));
  const Clip clip(canvas, box);
  for (const DifferenceRun& run : runs_of(view, result)) draw_run(canvas, plot, run);
  canvas.line({box.x, plot.y(0.0)}, {box.right(), plot.y(0.0)}, middle_pen());
  for (const double sign : {1.0, -1.0}) {
    if (!settings.tolerance_mm) break;
    const double y = plot.y(sign * *settings.tolerance_mm);
    canvas.line({box.x, y}, {box.right(), y}, tolerance_pen());
  }
  const Font quiet{.size = kSmall, .colour = palette::kGrey, .plate = kPlate};
  canvas.text({box.x + 10.0, box.y + 32.0}, "left one higher", quiet);
  canvas.text({box.x + 10.0, box.bottom() - 12.0}, "right one higher", quiet);
  label_worst(canvas, view, plot, result, settings.unit);
}

}  // namespace evenbevel
