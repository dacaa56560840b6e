#include <algorithm>
#include <cmath>

#include <opencv2/imgproc.hpp>

#include "evenbevel/advice.hpp"
#include "evenbevel/finish_report.hpp"
#include "report/picture_page.hpp"
#include "report/verdict.hpp"

namespace evenbevel {
namespace {

/// Page px of a face's blade frame, tip at the right, spine up.
struct FinishMap {
  Eigen::Vector2d low_mm, high_mm;
  Box box;
  double px_per_mm = 1.0;

  cv::Point2d page(const Eigen::Vector2d& xz_mm) const {
    return {box.x + (xz_mm.x() - low_mm.x()) * px_per_mm,
            box.y + (high_mm.y() - xz_mm.y()) * px_per_mm};
  }
};

FinishMap map_of(const FinishFaceResult& face, double top) {
  FinishMap map;
  map.low_mm = {face.corner_mm[0].x(), face.corner_mm[2].y()};
  map.high_mm = {face.corner_mm[1].x(), face.corner_mm[0].y()};
  const Eigen::Vector2d size = map.high_mm - map.low_mm;
  map.px_per_mm = kContentWidth / size.x();
  map.box = {kMargin, top, kContentWidth, std::floor(size.y() * map.px_per_mm)};
  return map;
}

/// The face as its best photo shows it, turned into the page.
cv::Mat laid_in_page(const FinishFaceResult& face, const Photo& photo, const FinishMap& map) {
  std::array<cv::Point2f, 4> from, to;
  for (std::size_t k = 0; k < 4; ++k) {
    from[k] = {static_cast<float>(face.corner_px[k].x()),
               static_cast<float>(face.corner_px[k].y())};
    const cv::Point2d at = map.page(face.corner_mm[k]);
    to[k] = {static_cast<float>(at.x - map.box.x), static_cast<float>(at.y - map.box.y)};
  }
  const cv::Mat turn = cv::getPerspectiveTransform(from.data(), to.data());
  cv::Mat picture;
  cv::warpPerspective(to_bgr8(photo.pixels), picture, turn,
                      cv::Size(static_cast<int>(map.box.width), static_cast<int>(map.box.height)),
                      cv::INTER_AREA);
  return picture;
}

Stroke scratch_pen() {
  return {.colour = palette::kOrange, .width = 4.0, .casing = palette::kInk.with_alpha(0.6)};
}
Stroke line_pen() {
  return {.colour = palette::kSkyBlue, .width = 2.0, .style = LineStyle::dashed};
}

void draw_curve(Canvas& canvas, const FinishMap& map, const std::vector<Eigen::Vector2d>& curve) {
  std::vector<cv::Point2d> points;
  for (const Eigen::Vector2d& p : curve) points.push_back(map.page(p));
  if (points.size() > 1) canvas.line(points, line_pen());
}

const FinishPhoto* photo_of(std::span<const FinishPhoto> photos, const FinishFaceResult& face) {
  int at = 0;
  for (const FinishPhoto& photo : photos) {
    if (photo.face == face.face && at++ == face.best_lamp) return &photo;
  }
  return nullptr;
}

/// The face beside its scratches: first as it is, then with them drawn on it.
double draw_finish_face(Canvas& canvas, double y, const FinishFaceResult& face,
                        std::span<const FinishPhoto> photos) {
  const FinishPhoto* photo = photo_of(photos, face);
  if (photo == nullptr) return y;
  canvas.text(
      {kMargin, y + 36.0},
      std::string(name(face.face)) + " face, " + photo->photo->name + ", spine up, tip right",
      {.size = kSmall, .bold = true});
  FinishMap map = map_of(face, y + 52.0);
  const cv::Mat picture = laid_in_page(face, *photo->photo, map);
  canvas.paste(picture, {static_cast<int>(map.box.x), static_cast<int>(map.box.y)});
  map.box.y = std::ceil(map.box.bottom() + 12.0);
  canvas.paste(picture, {static_cast<int>(map.box.x), static_cast<int>(map.box.y)});
  const Clip clip(canvas, map.box);
  draw_curve(canvas, map, face.bevel_line_mm);
  draw_curve(canvas, map, face.plunge_line_mm);
  for (const FoundScratch& scratch : face.scratches) {
    canvas.line(map.page(scratch.from_mm), map.page(scratch.to_mm), scratch_pen());
  }
  return map.box.bottom() + 20.0;
}

}  // namespace

AnnotatedPicture finish_picture(const FinishResult& result, std::span<const FinishPhoto> photos,
                                const ReportSettings& settings) {
  constexpr int kTallest = 5000;
  Canvas canvas(kPageWidth, kTallest, palette::kPaper);
  const Statement said = finish_statement(result, {}, photos, settings);
  double y = draw_banner(
      canvas, {finish_verdict(result, settings), said.glance.headline.said(settings.unit),
               said.glance.title.said(settings.unit)});
  for (const Glance::Row& row : said.glance.rows) {
    y = draw_number(canvas, y, row.label.said(settings.unit),
                    {row.value.said(settings.unit), row.U95.said(settings.unit)},
                    row.note.said(settings.unit), false);
  }
  y = std::ceil(draw_advice(
      canvas, y,
      sentence(finish_advice(result, settings.tolerance_per_cm2).front(), settings.unit)));
  const int head_height = static_cast<int>(y);
  for (const FinishFaceResult& face : result.faces) y = draw_finish_face(canvas, y, face, photos);
  const std::vector<LegendEntry> legend = {{scratch_pen(), "scratch across the lay"},
                                           {line_pen(), "bevel line, plunge line"}};
  y = draw_legend_entries(canvas, {kMargin, y + 10.0, kContentWidth, 0.0}, legend);
  return {canvas.picture(static_cast<int>(y + kMargin)), head_height};
}

}  // namespace evenbevel
