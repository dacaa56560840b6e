#include <cmath>
#include <memory>
#include <set>
#include <string>
#include <tuple>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <opencv2/aruco.hpp>
#include <opencv2/imgproc.hpp>

#include "drawn_page.hpp"
#include "evenbevel/error.hpp"
#include "evenbevel/lamp_ticks.hpp"
#include "evenbevel/units.hpp"
#include "independent_cards.hpp"
#include "scratch_folder.hpp"

namespace evenbevel {
namespace {

using test::drawn_page;
using test::DrawnPage;
using test::independent_card;
using test::IndependentCard;
using test::kAllCards;
using test::Way;

constexpr double kSize_mm = 0.05;  // the least that calipers show on paper

std::string format_name(CardFormat format) {
  return format == CardFormat::pdf ? "pdf" : format == CardFormat::svg ? "svg" : "png";
}

void expect_alternating(const std::vector<double>& borders, double first_mm, double step_mm,
                        int count) {
  ASSERT_EQ(static_cast<int>(borders.size()), count);
  for (int i = 0; i < count; ++i) {
    EXPECT_NEAR(borders[static_cast<std::size_t>(i)], first_mm + i * step_mm, kSize_mm) << i;
  }
}

// A line 0.06 of a cell below row 0's top crosses cells only, no marker: black and white in turn.
void expect_pitch(const DrawnPage& page, CardKind kind, const CardPage& where) {
  const CardLayout& card = card_layout(kind);
  const double inside = 0.06 * card.pitch_mm;
  const Eigen::Vector2d& start = where.grid_top_left_mm;
  const Eigen::Vector2d across = start + Eigen::Vector2d(-2.0, inside);
  const Eigen::Vector2d down = start + Eigen::Vector2d(inside, -2.0);
  const int dark_last = card.columns % 2;  // the last cell of row 0
  expect_alternating(page.borders_mm(across, Way::right, card.columns * card.pitch_mm + 4.0),
                     start.x(), card.pitch_mm, card.columns + dark_last);
  std::vector<double> rows = page.borders_mm(down, Way::down, card.rows * card.pitch_mm + 2.5);
  // Where the lane takes the place of a cell, its borders are not at every row: see that all are
  // at whole rows, and the first and the last where they should be.
  ASSERT_GT(rows.size(), 2U);
  for (const double y_mm : rows) {
    const double cells = (y_mm - start.y()) / card.pitch_mm;
    EXPECT_NEAR(cells, std::round(cells), kSize_mm / card.pitch_mm);
  }
  EXPECT_NEAR(rows.front(), start.y(), kSize_mm);
  const bool last_is_dark = card.rows % 2 == 1;
  EXPECT_NEAR(rows.back(), start.y() + (card.rows - (last_is_dark ? 0 : 1)) * card.pitch_mm,
              kSize_mm);
}

void expect_bar(const DrawnPage& page, const CardPage& where) {
  const std::vector<double> ends = page.borders_mm(where.bar_start_mm - Eigen::Vector2d(1.5, 0.0),
                                                   Way::right, where.bar_length_mm + 3.0);
  ASSERT_EQ(ends.size(), 2U);
  EXPECT_NEAR(ends[1] - ends[0], where.bar_length_mm, kSize_mm);
  EXPECT_NEAR(ends[0], where.bar_start_mm.x(), kSize_mm);
}

// Source: drawn by an independent program, data/independent_cards.txt.
void expect_cells(const DrawnPage& page, CardKind kind, const CardPage& where) {
  const IndependentCard card = independent_card(kind);
  const auto ink = [&](double column, double row) {
    return page.ink(where.grid_top_left_mm + card.pitch_mm * Eigen::Vector2d(column, row));
  };
  for (int row = 0; row < card.rows; ++row) {
    for (int column = 0; column < card.columns; ++column) {
      const char cell = card.cells[static_cast<std::size_t>(row)][static_cast<std::size_t>(column)];
      for (const double at : {0.06, 0.94}) {
        EXPECT_EQ(ink(column + at, row + 0.06), cell == 'M' ? 'W' : cell) << column << ", " << row;
      }
    }
  }
  for (const IndependentCard::Marker& marker : card.markers) {
    const auto module = [&](int column, int row) {
      return ink(marker.cell.column + 0.125 + 0.75 * (column + 0.5) / 7.0,
                 marker.cell.row + 0.125 + 0.75 * (row + 0.5) / 7.0);
    };
    for (int i = 0; i < 7; ++i) {
      for (const char rim : {module(i, 0), module(i, 6), module(0, i), module(6, i)}) {
        EXPECT_EQ(rim, 'B') << marker.id;
      }
    }
    for (int i = 0; i < 25; ++i) {
      EXPECT_EQ(module(1 + i % 5, 1 + i / 5),
                marker.bits[static_cast<std::size_t>(i)] == '1' ? 'W' : 'B')
          << marker.id << " bit " << i;
    }
  }
}

class CardDrawingClosedForm
    : public testing::TestWithParam<std::tuple<CardKind, Sheet, CardFormat>> {};

TEST_P(CardDrawingClosedForm, SizeGridBarAndMarkersAreExact) {
  const auto& [kind, sheet, format] = GetParam();
  const std::unique_ptr<DrawnPage> page = drawn_page(kind, sheet, format);
  const CardPage where = card_page(kind, sheet);
  EXPECT_NEAR((page->size_mm() - where.size_mm).cwiseAbs().maxCoeff(), 0.0, 0.09);  // one dot
  expect_pitch(*page, kind, where);
  expect_bar(*page, where);
  expect_cells(*page, kind, where);
}

std::string page_name(const testing::TestParamInfo<CardDrawingClosedForm::ParamType>& page) {
  const auto& [kind, sheet, format] = page.param;
  return std::string(name(kind)) + (sheet == Sheet::a4 ? "A4" : "Letter") + format_name(format);
}

INSTANTIATE_TEST_SUITE_P(
    AllPages, CardDrawingClosedForm,
    testing::Combine(testing::ValuesIn(kAllCards), testing::Values(Sheet::a4, Sheet::letter),
                     testing::Values(CardFormat::pdf, CardFormat::svg, CardFormat::png)),
    page_name);

/// Ink on the way out from the grid's middle, beyond the grid by 0.1 to 4 mm.
std::string inks_beyond(const DrawnPage& page, const CardPage& where, double azimuth_rad) {
  const CardLayout& card = card_layout(CardKind::side);
  const Eigen::Vector2d half(0.5 * card.columns * card.pitch_mm, 0.5 * card.rows * card.pitch_mm);
  const Eigen::Vector2d way(std::cos(azimuth_rad), std::sin(azimuth_rad));
  const double out = std::min(half.x() / std::max(1e-9, std::abs(way.x())),
                              half.y() / std::max(1e-9, std::abs(way.y())));
  std::string inks;
  for (double t = out + 0.1; t < out + 4.0; t += 0.1) inks += page.ink(where.at(card, t * way));
  return inks;
}

// An eighth of a turn from one to the next, as seen from the card's middle; none anywhere else.
TEST(CardDrawingClosedForm, TheSideCardsTicksSayWhereTheLampStands) {
  for (const Sheet sheet : {Sheet::a4, Sheet::letter}) {
    const std::unique_ptr<DrawnPage> page = drawn_page(CardKind::side, sheet, CardFormat::pdf);
    const CardPage where = card_page(CardKind::side, sheet);
    for (int eighth = 0; eighth < 5; ++eighth) {
      const std::string inks = inks_beyond(*page, where, eighth * kPi / 4.0);
      EXPECT_EQ(inks.find('B') != std::string::npos, eighth > 0) << eighth << ": " << inks;
      EXPECT_EQ(inks.find("WWWW"), 0U) << "clear of the grid";
      EXPECT_EQ(inks.substr(inks.size() - 3), "WWW") << "short of where printers end";
    }
    EXPECT_EQ(inks_beyond(*page, where, kPi / 8.0).find('B'), std::string::npos);
  }
  for (const LampTick& tick : lamp_ticks()) {
    EXPECT_NEAR(tick.azimuth_rad, (5 - tick.number) * kPi / 4.0, 1e-12);
    EXPECT_EQ(lamp_tick_at(tick.azimuth_rad + 0.3)->number, tick.number);
    EXPECT_EQ(lamp_tick_on_axis(tick.azimuth_rad + kPi - 0.3).number, tick.number);
  }
  EXPECT_FALSE(lamp_tick_at(-0.5 * kPi)) << "nobody puts the lamp where the maker stands";
}

// OpenCV's aruco module reads every marker of every card off the printed page, and no other.
TEST(CardDrawingOutside, ArucoReadsEveryMarker) {
  for (const CardKind kind : kAllCards) {
    const test::ScratchFolder scratch;
    draw_card(kind, Sheet::a4, CardFormat::pdf, scratch / "card.pdf");
    cv::Mat grey;
    cv::cvtColor(test::raster_of_pdf(scratch / "card.pdf", 200), grey, cv::COLOR_BGR2GRAY);
    std::vector<std::vector<cv::Point2f>> corners;
    std::vector<int> ids;
    cv::aruco::detectMarkers(grey, cv::aruco::getPredefinedDictionary(cv::aruco::DICT_5X5_1000),
                             corners, ids);
    std::set<int> wanted;
    for (const IndependentCard::Marker& marker : independent_card(kind).markers) {
      wanted.insert(marker.id);
    }
    EXPECT_EQ(std::set<int>(ids.begin(), ids.end()), wanted) << name(kind);
  }
}

TEST(CardDrawingProperty, TheSamePageIsTheSameFile) {
  const test::ScratchFolder scratch;
  for (const CardFormat format : {CardFormat::pdf, CardFormat::png}) {
    draw_card(CardKind::heel, Sheet::a4, format, scratch / "one");
    draw_card(CardKind::heel, Sheet::a4, format, scratch / "two");
    EXPECT_TRUE(test::file_text(scratch / "one") == test::file_text(scratch / "two"));
    EXPECT_GT(test::file_text(scratch / "one").size(), 1000U);
    std::filesystem::remove(scratch / "one");  // a page takes the place of its own kind alone
    std::filesystem::remove(scratch / "two");
  }
}

TEST(CardDrawingBadInput, AMissingFolderIsNamedAndNothingIsLeft) {
  const test::ScratchFolder scratch;
  const std::filesystem::path file = scratch / "none/card.pdf";
  try {
    draw_card(CardKind::heel, Sheet::a4, CardFormat::pdf, file);
    FAIL();
  } catch (const Error& error) {
    EXPECT_THAT(error.what(), testing::HasSubstr(file.string()));
  }
  EXPECT_TRUE(std::filesystem::is_empty(scratch.path()));
  std::filesystem::create_directory(scratch / "card.svg");
  EXPECT_THROW(draw_card(CardKind::heel, Sheet::a4, CardFormat::svg, scratch / "card.svg"), Error);
}

}  // namespace
}  // namespace evenbevel
