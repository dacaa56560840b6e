#include <algorithm>
#include <array>
#include <cmath>

#include <opencv2/imgproc.hpp>

#include "evenbevel/advice.hpp"
#include "report/choil_quantities.hpp"
#include "report/choil_words.hpp"
#include "report/picture_page.hpp"
#include "report/section_map.hpp"
#include "report/verdict.hpp"

namespace evenbevel {
namespace {

constexpr double kPanelWidth = 740.0;
constexpr double kPanelHeight = 1150.0;
constexpr double kAxisAt = 0.32;  ///< Of the width: what is right of the section is for numbers.

/// A window on the section, edge down: section px times `across` and `up` give page px.
struct SectionView {
  Box box;
  double from_px = 0.0;  ///< Section px at the bottom of the box.
  double across = 1.0, up = 1.0;

  cv::Point2d page(const Eigen::Vector2d& section_px) const {
    return {box.x + kAxisAt * box.width + section_px.x() * across,
            box.bottom() - (section_px.y() - from_px) * up};
  }
  Eigen::Vector2d section(const cv::Point2d& page_px) const {
    return {(page_px.x - box.x - kAxisAt * box.width) / across,
            from_px + (box.bottom() - page_px.y) / up};
  }
};

Stroke outline_pen(Face face) {
  const Colour casing = palette::kInk.with_alpha(0.6);
  return {.colour = face == Face::left ? palette::kSkyBlue : palette::kOrange,
          .width = 4.0,
          .casing = casing};
}

Stroke mirror_pen() {
  return {.colour = palette::kVermilion, .width = 3.0, .style = LineStyle::dashed};
}

Stroke mark_pen() {
  return {.colour = palette::kPaper, .width = 3.0, .casing = palette::kInk.with_alpha(0.9)};
}

const std::optional<Eigen::Vector2d>& place_on(const ChoilDepth& depth, Face face) {
  return face == Face::left ? depth.left_px : depth.right_px;
}

std::vector<Eigen::Vector2d> side_of(const ChoilResult& result, const SectionMap& map, Face face) {
  std::vector<Eigen::Vector2d> points;
  for (const ChoilDepth& depth : choil_stations(result)) {
    const std::optional<Eigen::Vector2d>& place = place_on(depth, face);
    if (place && place->allFinite()) points.push_back(map.section_of(*place));
  }
  return points;
}

void draw_photo(Canvas& canvas, const SectionView& view, const SectionMap& map,
                const Photo& photo) {
  const cv::Size size(static_cast<int>(view.box.width), static_cast<int>(view.box.height));
  cv::Mat where(size, CV_32FC2);
  for (int i = 0; i < size.height; ++i) {
    for (int j = 0; j < size.width; ++j) {
      const cv::Point2d centre(view.box.x + j + 0.5, view.box.y + i + 0.5);
      const Eigen::Vector2d q = map.stored_of(view.section(centre));
      where.at<cv::Vec2f>(i, j) = {static_cast<float>(q.x()), static_cast<float>(q.y())};
    }
  }
  cv::Mat picture;
  cv::remap(photo.pixels, picture, where, cv::noArray(), cv::INTER_CUBIC, cv::BORDER_CONSTANT,
            cv::Scalar::all(0));
  canvas.paste(to_bgr8(picture), {static_cast<int>(view.box.x), static_cast<int>(view.box.y)});
}

void draw_outlines(Canvas& canvas, const SectionView& view, const SectionMap& map,
                   const ChoilResult& result) {
  for (const Face face : {Face::left, Face::right}) {
    std::vector<cv::Point2d> mirrored;
    std::vector<cv::Point2d> line;
    for (const Eigen::Vector2d& p : side_of(result, map, face)) {
      line.push_back(view.page(p));
      mirrored.push_back(view.page({-p.x(), p.y()}));
    }
    canvas.line(line, outline_pen(face));
    canvas.line(mirrored, mirror_pen());
  }
  canvas.line(view.page({0.0, view.from_px}),
              view.page({0.0, view.from_px + view.box.height / view.up}), middle_pen());
}

void draw_sides(Canvas& canvas, const SectionView& view) {
  const double y = view.box.y + 40.0;
  canvas.text({view.box.x + 14.0, y}, "LEFT", plate_font());
  canvas.text({view.box.right() - 14.0, y}, "RIGHT", plate_font(kSmall, Align::right));
}

void draw_thickness(Canvas& canvas, const SectionView& view, const SectionMap& map,
                    const ChoilDepth& depth, LengthUnit unit) {
  const cv::Point2d a = view.page(map.section_of(*depth.left_px));
  const cv::Point2d b = view.page(map.section_of(*depth.right_px));
  const cv::Point2d tick(0.0, 14.0);
  canvas.line(a, b, mark_pen());
  canvas.line(a - tick, a + tick, mark_pen());
  canvas.line(b - tick, b + tick, mark_pen());
  const std::string words = printed_length(*depth.thickness_mm, unit).value + " at " +
                            trimmed_length(depth.depth_mm, unit);
  const double farthest = view.box.right() - canvas.text_width(words, plate_font()) - 14.0;
  const cv::Point2d at(std::min(std::max(a.x, b.x) + 60.0, farthest), std::min(a.y, b.y) + 11.0);
  canvas.line({std::max(a.x, b.x) + 12.0, at.y - 11.0}, {at.x - 8.0, at.y - 11.0}, {.width = 2.0});
  canvas.text(at, words, plate_font());
}

/// Marks at the depths asked for, as far as their words do not run into each other.
void draw_thicknesses(Canvas& canvas, const SectionView& view, const SectionMap& map,
                      const ChoilResult& result, LengthUnit unit) {
  constexpr double kApart = 40.0;
  double free_to = view.box.bottom() - 20.0;
  for (const ChoilDepth& depth : result.depths) {
    if (!measured(depth.thickness_mm) || !depth.left_px || !depth.right_px) continue;
    const double y = view.page(map.section_of(*depth.left_px)).y;
    if (y > free_to || y < view.box.y + 90.0) continue;
    draw_thickness(canvas, view, map, depth, unit);
    free_to = y - kApart;
  }
}

void draw_panel(Canvas& canvas, const SectionView& view, const SectionMap& map,
                const ChoilResult& result, const Photo& photo, LengthUnit unit,
                const std::string& words) {
  draw_photo(canvas, view, map, photo);
  {
    const Clip clip(canvas, view.box);
    draw_outlines(canvas, view, map, result);
    draw_thicknesses(canvas, view, map, result, unit);
    draw_sides(canvas, view);
  }
  canvas.frame(view.box, {.width = 3.0});
  canvas.text({view.box.x, view.box.bottom() + 42.0}, words, {.size = kSmall});
}

/// The whole section seen, enlarged across.
SectionView whole_view(const SectionMap& map, double top) {
  constexpr double kShare = 0.25;  // of the width, for the thickest half
  SectionView view{.box = {kMargin, top, kPanelWidth, kPanelHeight}};
  view.from_px = -0.05 * map.deepest_px();
  view.up = kPanelHeight / (1.08 * map.deepest_px());
  view.across =
      view.up * round_factor(std::max(1.0, kShare * kPanelWidth / map.widest_px() / view.up));
  return view;
}

/// What lies next to the edge, alike across and down.
SectionView near_view(const ChoilResult& result, const SectionMap& map, double top) {
  constexpr double kDepth_mm = 3.0;
  const double depth_px =
      std::min(map.deepest_px(), kDepth_mm * std::max(result.scale_px_per_mm, 1.0));
  SectionView view{.box = {kPageWidth - kMargin - kPanelWidth, top, kPanelWidth, kPanelHeight}};
  view.from_px = -0.12 * depth_px;
  view.up = kPanelHeight / (1.15 * depth_px);
  view.across = view.up;
  return view;
}

double draw_numbers(Canvas& canvas, double y, const ChoilResult& result, LengthUnit unit) {
  static constexpr std::array kShown = {std::pair{"asymmetry", "asymmetry"},
                                        std::pair{"included_angle", "included angle"},
                                        std::pair{"angle_left", "angle, left"},
                                        std::pair{"angle_right", "angle, right"},
                                        std::pair{"edge_thickness", "edge thickness"},
                                        std::pair{"hollow_radius_left", "wheel radius, left"},
                                        std::pair{"hollow_radius_right", "wheel radius, right"}};
  const std::vector<Quantity> quantities = choil_quantities(result);
  for (const auto& [name, label] : kShown) {
    for (const Quantity& quantity : quantities) {
      if (!quantity.is(name)) continue;
      y = draw_number(canvas, y, label, printed(quantity, unit), choil_note(quantity, result, unit),
                      quantity.is("asymmetry"));
    }
  }
  return y;
}

double draw_header(Canvas& canvas, const ChoilResult& result, const ReportSettings& settings) {
  const Verdict verdict = choil_verdict(result, settings);
  double y = draw_banner(canvas, {verdict, choil_headline(result, settings), "choil view"});
  y = draw_numbers(canvas, y, result, settings.unit);
  return draw_advice(canvas, y,
                     sentence(choil_advice(result, settings.tolerance_mm).front(), settings.unit));
}

double draw_legend(Canvas& canvas, double top, const ChoilResult& result,
                   const ReportSettings& settings) {
  const std::vector<LegendEntry> sides = {{outline_pen(Face::left), "left side"},
                                          {outline_pen(Face::right), "right side"}};
  const std::vector<LegendEntry> others = {{mirror_pen(), "the section's mirror image"},
                                           {middle_pen(), "axis"}};
  const double half = 0.5 * kContentWidth;
  draw_legend_entries(canvas, {kMargin, top, half, 0.0}, sides);
  const double y = draw_legend_entries(canvas, {kMargin + half, top, half, 0.0}, others);
  return canvas.paragraph({kMargin, y + 10.0}, kContentWidth,
                          "Thickness at the depth behind the edge. The photo is turned: edge down, "
                          "tip away from you, as left and right are told of a knife; " +
                              range_sentence(result, settings.unit) + ".",
                          {.size = kSmall, .colour = palette::kGrey});
}

}  // namespace

AnnotatedPicture choil_picture(const ChoilResult& result, const Photo& photo,
                               const ReportSettings& settings) {
  constexpr int kTallest = 4000;
  Canvas canvas(kPageWidth, kTallest, palette::kPaper);
  double y = std::ceil(draw_header(canvas, result, settings));
  const int head_height = static_cast<int>(y);
  const std::optional<SectionMap> map = SectionMap::of(result, photo);
  if (!map) {
    const double bottom = draw_whole_photo(canvas, y, photo) + kMargin;
    return {canvas.picture(static_cast<int>(bottom)), head_height};
  }
  const SectionView whole = whole_view(*map, y);
  const SectionView near = near_view(result, *map, y);
  draw_panel(canvas, whole, *map, result, photo, settings.unit,
             "whole section, across drawn " + factor_text(whole.across / whole.up) + " wider");
  draw_panel(canvas, near, *map, result, photo, settings.unit,
             "next to the edge, magnified " + factor_text(std::round(near.up)) + " (photo pixels)");
  y = whole.box.bottom() + 90.0;
  const double bottom = draw_legend(canvas, y, result, settings) + kMargin;
  return {canvas.picture(static_cast<int>(bottom)), head_height};
}

}  // namespace evenbevel
