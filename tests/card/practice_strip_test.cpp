// The practice card read back from its own file: what the page says is what is drawn.

#include "evenbevel/practice_strip.hpp"

#include <cmath>
#include <string>

#include <gtest/gtest.h>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "drawn_page.hpp"
#include "evenbevel/units.hpp"
#include "run_program.hpp"
#include "scratch_folder.hpp"

namespace evenbevel {
namespace {

using test::DrawnPage;

// As printed on the page; apart from the program's own layout.
constexpr double kTurn = radians(1.2);
constexpr double kStep_mm = 0.004, kDot_mm = 0.012;  // means over many dots of 0.042 mm

/// A place of the strip on the page: A4, the card's middle 148.5 mm from the left, 65 from the top.
Eigen::Vector2d page_mm(const DrawnPage& page, double s_mm, double t_mm) {
  const double x = s_mm * std::cos(kTurn) + t_mm * std::sin(kTurn);
  const double y = s_mm * std::sin(kTurn) - t_mm * std::cos(kTurn);
  return {0.5 * page.size_mm().x() + x, 65.0 - y};
}

/// Where the ink turns from `from` to `to` on the way from one place of the strip to another.
std::vector<double> turns(const DrawnPage& page, Eigen::Vector2d at_st,
                          const Eigen::Vector2d& to_st, char from, char to) {
  std::vector<double> found;
  const double length = (to_st - at_st).norm();
  const Eigen::Vector2d step = (to_st - at_st) / length * kStep_mm;
  char before = '?';
  double last = 0.0;  // where that ink was seen for the last time
  for (double way = 0.0; way < length; way += kStep_mm, at_st += step) {
    const char ink = page.ink(page_mm(page, at_st.x(), at_st.y()));
    if (ink == '?') continue;  // between two inks
    if (before == from && ink == to) found.push_back(0.5 * (last + way));
    before = ink;
    last = way;
  }
  return found;
}

/// Borders across the strip: its rims and both borders of both lines, t.
struct Across {
  double rim_low = 0.0, rim_high = 0.0, line_low = 0.0, line_high = 0.0;
  double offset() const { return 0.5 * (line_low + line_high) - 0.5 * (rim_low + rim_high); }
};

Across across(const DrawnPage& page, double s_mm) {
  Across mean;
  constexpr int kCuts = 161;  // over +-4 mm
  for (int cut = 0; cut < kCuts; ++cut) {
    const double s = s_mm + 0.05 * (cut - kCuts / 2);
    const std::vector<double> white = turns(page, {s, -2.4}, {s, 2.4}, 'B', 'W');
    const std::vector<double> black = turns(page, {s, -2.4}, {s, 2.4}, 'W', 'B');
    EXPECT_EQ(white.size(), 3U) << s;
    EXPECT_EQ(black.size(), 3U) << s;
    if (white.size() != 3 || black.size() != 3) return {};
    mean.rim_low += (white[0] - 2.4) / kCuts;
    mean.line_low += (0.5 * (black[0] + white[1]) - 2.4) / kCuts;
    mean.line_high += (0.5 * (black[1] + white[2]) - 2.4) / kCuts;
    mean.rim_high += (black[2] - 2.4) / kCuts;
  }
  return mean;
}

/// Middle of the bar of a plunge line, s; mean over the bar's length about its depth.
double plunge(const DrawnPage& page, double t_mm) {
  double mean = 0.0;
  constexpr int kCuts = 41;  // over +-0.2 mm
  for (int cut = 0; cut < kCuts; ++cut) {
    const double t = t_mm + 0.01 * (cut - kCuts / 2);
    const std::vector<double> black = turns(page, {-82.0, t}, {-78.0, t}, 'W', 'B');
    const std::vector<double> white = turns(page, {-82.0, t}, {-78.0, t}, 'B', 'W');
    EXPECT_EQ(black.size(), 1U) << t;
    EXPECT_EQ(white.size(), 1U) << t;
    if (black.size() != 1 || white.size() != 1) return NAN;
    mean += (0.5 * (black[0] + white[0]) - 82.0) / kCuts;
  }
  return mean;
}

class PracticeStripClosedForm : public testing::TestWithParam<CardFormat> {};

TEST_P(PracticeStripClosedForm, WhatThePageSaysIsDrawn) {
  const test::ScratchFolder scratch;
  draw_practice_card(Sheet::a4, GetParam(), scratch / "page");
  const auto page = test::read_page(scratch / "page", GetParam());
  // A PDF's shapes take in every dot that they touch, here quarters of 300 dpi: white grows over
  // black by that, which leaves middles alone.
  const double grown_mm = GetParam() == CardFormat::pdf ? 25.4 / 300.0 / 4.0 : 0.0;
  struct Stated {
    double s_mm, offset_mm;
  };
  for (const Stated stated : {Stated{-100.0, 0.1}, Stated{0.0, 0.0}, Stated{100.0, -0.1}}) {
    const Across read = across(*page, stated.s_mm);
    EXPECT_NEAR(read.offset(), stated.offset_mm, kDot_mm) << stated.s_mm;
    EXPECT_NEAR(read.rim_high - read.rim_low, 3.2 + grown_mm, kDot_mm) << stated.s_mm;
    EXPECT_NEAR(read.line_high - read.line_low, 0.5, kDot_mm) << stated.s_mm;
  }
  EXPECT_NEAR(plunge(*page, 1.0) - plunge(*page, -1.0), 0.6, kDot_mm);
}

INSTANTIATE_TEST_SUITE_P(Formats, PracticeStripClosedForm,
                         testing::Values(CardFormat::png, CardFormat::pdf), [](const auto& format) {
                           return std::string(format.param == CardFormat::png ? "png" : "pdf");
                         });

TEST(PracticeStripProperty, ItsMarksTellItFromTheEdgeCardAndItIsStillOne) {
  const test::ScratchFolder scratch;
  draw_practice_card(Sheet::letter, CardFormat::png, scratch / "strip.png");
  draw_card(CardKind::edge, Sheet::letter, CardFormat::png, scratch / "edge.png");
  const auto small = [&](const char* name) {
    cv::Mat grey = cv::imread((scratch / name).string(), cv::IMREAD_GRAYSCALE);
    cv::resize(grey, grey, {}, 0.5, 0.5, cv::INTER_AREA);
    return grey;
  };
  const cv::Mat strip = small("strip.png");
  const std::vector<PracticeMark> marks = find_practice_marks(strip);
  ASSERT_EQ(marks.size(), 2U);
  const double px_per_mm = 300.0 / 25.4;
  for (const PracticeMark& mark : marks) {
    const double x_mm = 0.5 * 279.4 + (mark.tip_end ? 121.0 : -121.0);
    EXPECT_NEAR(mark.centre_px.x(), x_mm * px_per_mm, 3.0);
    EXPECT_NEAR(mark.centre_px.y(), 65.0 * px_per_mm, 3.0);
  }
  EXPECT_TRUE(find_practice_marks(small("edge.png")).empty());
  EXPECT_EQ(require_card(strip, CardKind::edge, 100).corners.size(),
            card_layout(CardKind::edge).corners_mm.size());
}

TEST(PracticeStripProperty, TheCommittedPagesAreWhatTheProgramDrawsToday) {
  for (const Sheet sheet : {Sheet::a4, Sheet::letter}) {
    const test::ScratchFolder scratch;
    draw_practice_card(sheet, CardFormat::pdf, scratch / "today");
    const auto words = [](const std::string& file) {
      return test::run_program("pdftotext -raw '" + file + "' -").output;
    };
    const std::string kept = std::string(SOURCE_FOLDER "/calibration/practice-") +
                             (sheet == Sheet::a4 ? "a4" : "letter") + ".pdf";
    EXPECT_EQ(words(kept), words((scratch / "today").string()));
    const auto then = test::read_page(kept, CardFormat::pdf);
    const auto today = test::read_page(scratch / "today", CardFormat::pdf);
    for (double x = 12.5; x < 265.0; x += 1.1) {
      for (double y = 26.0; y < 106.0; y += 0.7) ASSERT_EQ(then->ink({x, y}), today->ink({x, y}));
    }
  }
}

}  // namespace
}  // namespace evenbevel
