#include "evenbevel/refused_picture.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include <opencv2/imgproc.hpp>

#include "report/picture_page.hpp"
#include "report/write_files.hpp"

namespace evenbevel {
namespace {

constexpr Stroke kSeenPen{.colour = palette::kGreen, .width = 4.0, .casing = palette::kInk};
constexpr Stroke kUnseenPen{.colour = palette::kOrange, .width = 4.0, .casing = palette::kInk};
constexpr Stroke kLanePen{
    .colour = palette::kSkyBlue, .width = 6.0, .style = LineStyle::dashed, .casing = palette::kInk};
constexpr Stroke kLightPen{.colour = palette::kVermilion,
                           .width = 6.0,
                           .style = LineStyle::dash_dot,
                           .casing = palette::kPaper};
constexpr Stroke kMissingPen{.colour = palette::kVermilion,
                             .width = 8.0,
                             .style = LineStyle::long_dashed,
                             .casing = palette::kPaper};
constexpr double kReach = 11.0;  // of a corner's mark
constexpr double kText = 50.0;   // read on a phone, where the page is a quarter as wide

std::string card_words(CardKind kind) { return std::string(name(kind)) + " card"; }

std::string_view belongs_in_lane(CardKind kind) {
  switch (kind) {
    case CardKind::edge:
      return "the edge belongs in here";
    case CardKind::side:
      return "the blade belongs in here";
    case CardKind::heel:
      return "the heel's end belongs in here";
    case CardKind::lens:
      break;
  }
  return "";
}

/// The photo upright on the page, and the way from its stored pixels to the page's.
class ShownPhoto {
 public:
  ShownPhoto(const Photo& photo, cv::Point2d top_left, double scale)
      : photo_(photo), top_left_(top_left), scale_(scale) {}

  cv::Point2d page(const Eigen::Vector2d& q_px) const {
    const cv::Point2d up =
        upright_point({q_px.x(), q_px.y()}, photo_.pixels.size(), photo_.orientation);
    return {top_left_.x + (up.x + 0.5) * scale_, top_left_.y + (up.y + 0.5) * scale_};
  }
  std::vector<cv::Point2d> page(const std::vector<Eigen::Vector2d>& points_px) const {
    std::vector<cv::Point2d> shown;
    shown.reserve(points_px.size());
    for (const Eigen::Vector2d& q : points_px) shown.push_back(page(q));
    return shown;
  }
  Box page(const cv::Rect& r) const {
    const cv::Point2d a = page(Eigen::Vector2d(r.x, r.y));
    const cv::Point2d b = page(Eigen::Vector2d(r.x + r.width, r.y + r.height));
    return {std::min(a.x, b.x), std::min(a.y, b.y), std::abs(a.x - b.x), std::abs(a.y - b.y)};
  }
  Box box() const {
    const cv::Size size = upright_size(photo_.pixels.size(), photo_.orientation);
    return {top_left_.x, top_left_.y, size.width * scale_, size.height * scale_};
  }

 private:
  const Photo& photo_;
  cv::Point2d top_left_;
  double scale_;
};

/// A label on a plate that stays inside the photo.
void draw_plate(Canvas& canvas, const ShownPhoto& photo, cv::Point2d at, const std::string& words) {
  const Font font = plate_font(kText);
  const Box box = photo.box();
  const double width = canvas.text_width(words, font);
  at.x = std::clamp(at.x, box.x + 14.0, std::max(box.x + 14.0, box.right() - 14.0 - width));
  at.y = std::clamp(at.y, box.y + 60.0, std::max(box.y + 60.0, box.bottom() - 20.0));
  canvas.text(at, words, font);
}

void draw_cross(Canvas& canvas, cv::Point2d at, const Stroke& pen) {
  canvas.line(at + cv::Point2d(-kReach, -kReach), at + cv::Point2d(kReach, kReach), pen);
  canvas.line(at + cv::Point2d(-kReach, kReach), at + cv::Point2d(kReach, -kReach), pen);
}

cv::Point2d upper_left(const std::vector<cv::Point2d>& points) {
  cv::Point2d at = points.front();
  for (const cv::Point2d& p : points) at = {std::min(at.x, p.x), std::min(at.y, p.y)};
  return at;
}

cv::Point2d lower_left(const std::vector<cv::Point2d>& points) {
  cv::Point2d at = points.front();
  for (const cv::Point2d& p : points) at = {std::min(at.x, p.x), std::max(at.y, p.y)};
  return at;
}

std::string corner_counts(const FoundCard& card, const RefusedLook& look) {
  const std::size_t all = card_layout(card.kind).corners_mm.size();
  std::string words = card_words(card.kind) + ": " + std::to_string(card.corners.size()) + " of " +
                      std::to_string(all) + " corners seen";
  if (look.outside > 0) words += ", " + std::to_string(look.outside) + " outside";
  return words;
}

/// Any card that was found, the wanted one with what of it was not.
void draw_card(Canvas& canvas, const ShownPhoto& photo, const FoundCard& card,
               const RefusedLook& look) {
  std::vector<cv::Point2d> seen;
  for (const CardCorner& corner : card.corners) seen.push_back(photo.page(corner.q_px));
  for (const cv::Point2d& at : seen) canvas.circle(at, kReach, kSeenPen);
  const bool wanted = card.kind == look.wanted;
  if (wanted) {
    for (const Eigen::Vector2d& q : look.unseen_px) draw_cross(canvas, photo.page(q), kUnseenPen);
  }
  if (seen.empty()) return;
  draw_plate(canvas, photo, upper_left(seen) + cv::Point2d(0.0, -2.5 * kReach),
             wanted
                 ? corner_counts(card, look)
                 : "this is the " + card_words(card.kind) + ", not the " + card_words(look.wanted));
}

/// Where the card would be, by its own proportions, filling the picture.
void draw_missing_card(Canvas& canvas, const ShownPhoto& photo, CardKind wanted) {
  constexpr double kFill = 0.82;
  const CardLayout& layout = card_layout(wanted);
  const Box box = photo.box();
  const double aspect = static_cast<double>(layout.columns) / layout.rows;
  const double width = kFill * std::min(box.width, box.height * aspect);
  const Box frame{box.x + 0.5 * (box.width - width), box.y + 0.5 * (box.height - width / aspect),
                  width, width / aspect};
  canvas.frame(frame, kMissingPen);
  draw_plate(canvas, photo, {frame.x + 20.0, frame.y + 76.0},
             "no " + card_words(wanted) + " found");
  draw_plate(canvas, photo, {frame.x + 20.0, frame.y + 150.0},
             "its whole pattern belongs about here");
}

void draw_lane(Canvas& canvas, const ShownPhoto& photo, const RefusedLook& look) {
  if (look.lane_px.size() < 3) return;
  std::vector<cv::Point2d> outline = photo.page(look.lane_px);
  const cv::Point2d at = lower_left(outline) + cv::Point2d(16.0, 64.0);
  outline.push_back(outline.front());
  canvas.line(outline, kLanePen);
  draw_plate(canvas, photo, at, std::string(belongs_in_lane(look.wanted)));
}

void draw_light(Canvas& canvas, const ShownPhoto& photo, const RefusedLook& look) {
  const auto draw = [&](const std::vector<cv::Rect>& places, const char* words) {
    for (std::size_t i = 0; i < places.size(); ++i) {
      const Box box = photo.page(places[i]);
      canvas.frame(box, kLightPen);
      if (i == 0) draw_plate(canvas, photo, {box.x + 10.0, box.y - 20.0}, words);
    }
  };
  draw(look.white_px, "pure white here: over-exposed, or glare");
  draw(look.dark_px, "nearly black here");
}

std::vector<LegendEntry> legend_of(const RefusedLook& look) {
  std::vector<LegendEntry> entries;
  if (!look.cards.empty()) entries.push_back({kSeenPen, "corners of a card that were found"});
  if (!look.unseen_px.empty()) {
    entries.push_back({kUnseenPen, "corners in the picture that were not: covered, glare, blur"});
  }
  if (!look.lane_px.empty()) entries.push_back({kLanePen, "where the blade was sought"});
  if (!look.white_px.empty() || !look.dark_px.empty()) {
    entries.push_back({kLightPen, "light in which nothing can be told apart"});
  }
  if (look.cards.empty()) entries.push_back({kMissingPen, "what is missing"});
  return entries;
}

/// @return  Its bottom.
double draw_legend(Canvas& canvas, double top, const std::vector<LegendEntry>& entries) {
  double y = top + kText;
  for (const LegendEntry& entry : entries) {
    canvas.line({kMargin, y - 0.3 * kText}, {kMargin + 110.0, y - 0.3 * kText}, entry.pen);
    y = canvas.paragraph({kMargin + 140.0, y}, kContentWidth - 140.0, entry.text,
                         {.size = kText - 4.0});
    y += 10.0;
  }
  return y;
}

std::string softness_words(const FoundCard& card) {
  constexpr double kSoftPx = 2.5;  // sharp photos of the samples show 0.8 to 1.6
  if (card.softness_px <= kSoftPx) return {};
  return "blurred: the card's borders are " + std::to_string(card.softness_px).substr(0, 3) +
         " px soft";
}

}  // namespace

cv::Mat refused_picture(const Photo& photo, const RefusedLook& look) {
  constexpr int kTallest = 4000;
  const cv::Size size = upright_size(photo.pixels.size(), photo.orientation);
  const double scale = std::min(kContentWidth / size.width, 0.8 * kTallest / size.height);
  cv::Mat small;
  cv::resize(upright(photo.pixels, photo.orientation), small, {}, scale, scale,
             scale < 1.0 ? cv::INTER_AREA : cv::INTER_LINEAR);
  Canvas canvas(kPageWidth, kTallest, palette::kPaper);
  const cv::Point top_left(static_cast<int>(kMargin), static_cast<int>(kMargin));
  canvas.paste(to_bgr8(small), top_left);
  const ShownPhoto shown(photo, top_left, scale);
  {
    const Clip clip(canvas, shown.box());
    draw_lane(canvas, shown, look);
    for (const FoundCard& card : look.cards) draw_card(canvas, shown, card, look);
    if (look.cards.empty()) draw_missing_card(canvas, shown, look.wanted);
    draw_light(canvas, shown, look);
    const std::string soft = look.card() != nullptr ? softness_words(*look.card()) : "";
    if (!soft.empty()) draw_plate(canvas, shown, {shown.box().x, shown.box().bottom()}, soft);
  }
  const double bottom = draw_legend(canvas, kMargin + small.rows + 24.0, legend_of(look));
  return canvas.picture(static_cast<int>(std::ceil(bottom)));
}

void write_refused_picture(const Photo& photo, CardKind wanted,
                           const std::filesystem::path& folder) {
  const std::vector<uchar> jpeg =
      encode_jpeg(refused_picture(photo, look_at_refused(photo, wanted)), kPictureQuality);
  const ReportFile file{kRefusedPicture, {reinterpret_cast<const char*>(jpeg.data()), jpeg.size()}};
  write_files(folder, std::span(&file, 1));
}

}  // namespace evenbevel
