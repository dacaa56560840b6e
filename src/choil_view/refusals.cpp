#include "refusals.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include <opencv2/core.hpp>

#include "evenbevel/error.hpp"
#include "evenbevel/fit.hpp"
#include "evenbevel/units.hpp"
#include "units/fixed.hpp"

namespace evenbevel::choil {
namespace {

constexpr double kMostBlurPx = 3.0, kSoftPx = 1.8;
constexpr double kLeastPxPerMm = 6.0, kFewPxPerMm = 14.0;
constexpr double kFarAside = 0.08;  // Camera beside the blade over its distance.
constexpr double kDegree = kPi / 180.0;

}  // namespace

double card_white(const cv::Mat& pixels, const SectionPlane& plane, const PrintScale& print) {
  constexpr double kBesideMarkerMm = 0.6;  // Inside the white rim between cell and marker.
  const CardLayout& layout = card_layout(CardKind::heel);
  std::vector<double> whites;
  for (const CardLayout::Cell& cell : layout.marker_cells) {
    const Eigen::Vector2d corner = layout.cell_top_left_mm(cell);
    const Eigen::Vector2d p((corner.x() + kBesideMarkerMm) * print.along,
                            -(corner.y() - 0.5 * layout.pitch_mm) * print.across);
    const Eigen::Vector2d q = plane.pixel(p);
    const cv::Rect spot(static_cast<int>(q.x()) - 1, static_cast<int>(q.y()) - 1, 3, 3);
    if ((spot & cv::Rect({}, pixels.size())) != spot) continue;
    whites.push_back(cv::mean(light_patch(pixels, spot).linear)[0]);
  }
  return whites.empty() ? 0.0 : median(whites);
}

void require_section(const Search& search, double white) {
  constexpr double kDark = 0.012, kPaperToCard = 0.3;
  if (!search.section && std::max(search.paper, white) < kDark) {
    throw Error(
        "no blade was found, and the photo is under-exposed: the brightest paper has only " +
            fixed(100.0 * std::max(search.paper, white), 1) +
            " % of the light that the camera can take",
        "give it more light or turn the exposure up, and take the photo again");
  }
  if (search.paper < kPaperToCard * white) {
    throw Error("the cut-out of the heel card is dark: what is seen through it has " +
                    fixed(100.0 * search.paper / white, 0) +
                    " % of the light of the card's white, " + fixed(100.0 * kPaperToCard, 0) +
                    " % is the least",
                "cut the green lane out of the card, set plain white paper behind the blade and "
                "light it, then take the photo again");
  }
  if (search.section) return;
  throw Error("no blade was found in the cut-out of the heel card",
              "clamp the blade edge up with its heel toward the camera, drop the card over it so "
              "that the edge stands in the cut-out, and set plain white paper behind");
}

void require_sharp(const Outline& outline) {
  if (outline.blur_px > kMostBlurPx) {
    throw Error("the photo is blurred: the section's borders are " + fixed(outline.blur_px, 1) +
                    " px soft, " + fixed(kMostBlurPx, 1) + " px is the most that can be measured",
                "rest the phone on something, tap on the heel's end to focus, give it more light, "
                "and take the photo again");
  }
  if (outline.px_per_mm < kLeastPxPerMm) {
    throw Error("the blade is too small in the photo: " + density_words(outline.px_per_mm, 1) +
                    ", " + density_words(kLeastPxPerMm, 0) + " is the least",
                "go closer, so that the heel card fills the picture, and take the photo again");
  }
}

void require_coverage(const Outline& outline) {
  constexpr double kLeastCoverage = 0.4;
  if (outline.coverage >= kLeastCoverage) return;
  throw Error("the section's borders could be followed over only " +
                  fixed(100.0 * outline.coverage, 0) + " % of its height",
              "focus on the heel's end, keep it in shadow, light the white paper behind the blade "
              "evenly, hold the phone straight along the blade, and take the photo again");
}

void require_edge(const std::optional<EdgeDoubt>& doubt) {
  if (!doubt) return;
  const InUnits by = length_words(doubt->by_mm, 1);
  const InUnits thickness =
      ": the thickness behind it would differ by " + length_words(doubt->thickness_mm, 3);
  switch (doubt->kind) {
    case EdgeDoubt::Kind::goes_on:
      throw Error(
          "the edge's end is not sure: above the place found, something other than paper "
          "goes on for " +
              by + " or more",
          "leave nothing but plain white paper to be seen above the edge, light the paper "
          "and shade the blade's sides, and take the photo again");
    case EdgeDoubt::Kind::no_end:
      throw Error("the edge's end is not sure: the blade goes on for " + by +
                      " above the place where the heel's end changes its light" + thickness,
                  "light the heel's end evenly from the camera's side, hold the phone no higher "
                  "than the edge, and take the photo again");
    case EdgeDoubt::Kind::unparted:
      throw Error(
          "the edge's end is not sure: from above the edge the blade behind shows over it "
          "by " +
              by + " or more, and is not told from the heel's end" + thickness,
          "hold the phone a little lower than the edge, and take the photo again");
  }
}

void require_agreement(const ChoilResult& result, const ChoilSettings& settings) {
  constexpr double kMostDisagreement = 0.02;
  if (!settings.thickness_mm || !result.stock_thickness_mm) return;
  const double given = *settings.thickness_mm, read = result.stock_thickness_mm->value;
  const double allowed = std::max(kMostDisagreement * given, U95(*result.stock_thickness_mm));
  if (std::abs(read - given) <= allowed) return;
  throw Error("the thickness given, " + length_words(given, 3) +
                  ", and the card's scale disagree by " +
                  fixed(100.0 * std::abs(read / given - 1.0), 0) +
                  " %: by the card the flats are " + length_words(read, 2) + " apart",
              "measure the stock again and mind the unit; stand the card in the plane of the "
              "heel's end, and check its printed bar with calipers (--printed-bar)");
}

void add_warnings(ChoilResult& result, const Outline& outline, const RoughSection& rough,
                  double foot_offset_mm, bool axis_doubtful) {
  std::vector<Remark>& warnings = result.warnings;
  std::vector<Remark>& advice = result.advice;
  if (outline.clipped_share > 0.1) {
    warnings.push_back(remark<RemarkCode::paper_over_exposed>(100.0 * outline.clipped_share));
    advice.push_back(remark<RemarkCode::expose_paper_less>());
  }
  if (outline.blur_px > kSoftPx) {
    warnings.push_back(remark<RemarkCode::section_soft>(outline.blur_px));
    advice.push_back(remark<RemarkCode::focus_on_heel>());
  }
  if (outline.px_per_mm < kFewPxPerMm) {
    warnings.push_back(remark<RemarkCode::blade_small>(outline.px_per_mm));
    advice.push_back(remark<RemarkCode::go_closer>());
  }
  if (std::abs(foot_offset_mm) > kFarAside * result.camera_distance_mm) {
    advice.push_back(remark<RemarkCode::look_along_blade>(foot_offset_mm > 0.0 ? "right" : "left"));
  }
  if (result.axis_from == AxisSource::median_and_card) {
    warnings.push_back(remark<RemarkCode::no_flats>());
    advice.push_back(remark<RemarkCode::show_flats>());
  }
  if (axis_doubtful) {
    warnings.push_back(
        remark<RemarkCode::section_leans>(std::abs(result.axis_lean_rad.value) / kDegree));
    advice.push_back(remark<RemarkCode::stand_card_upright>());
  }
  if (const auto note = lens_note(result.pose.lens)) warnings.push_back(*note);
  if (result.pose.bend_mm > 0.4 && result.pose.bend_mm > 3.0 * result.pose.bend_u_mm) {
    warnings.push_back(remark<RemarkCode::card_bent>(result.pose.bend_mm));
    advice.push_back(remark<RemarkCode::glue_card>());
  }
  if (outline.dropped > 3) {
    warnings.push_back(remark<RemarkCode::heights_left_out>(outline.dropped));
    advice.push_back(remark<RemarkCode::light_heel>());
  }
  const double contrast = outline.contrast / std::max(rough.paper, 1e-6);
  if (rough.behind > 0.0 && rough.near != 0 && contrast > 0.0) {
    const double apart = std::abs(rough.behind - (rough.paper - outline.contrast)) / rough.paper;
    if (apart < 0.04) {
      warnings.push_back(remark<RemarkCode::heel_border_faint>());
      advice.push_back(remark<RemarkCode::light_heel>());
    }
  }
}

}  // namespace evenbevel::choil
