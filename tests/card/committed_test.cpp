#include <filesystem>
#include <sstream>
#include <string>

#include <gtest/gtest.h>

#include "drawn_page.hpp"
#include "independent_cards.hpp"
#include "run_program.hpp"
#include "scratch_folder.hpp"

namespace evenbevel {
namespace {

using test::kAllCards;

std::filesystem::path committed(CardKind kind, Sheet sheet, const std::string& ending) {
  return std::filesystem::path(SOURCE_FOLDER "/calibration") /
         (std::string(name(kind)) + (sheet == Sheet::a4 ? "-a4." : "-letter.") + ending);
}

/// Words of a PDF in reading order, however they are broken into lines.
std::string words_of(const std::filesystem::path& pdf) {
  std::istringstream text(test::run_program("pdftotext -raw '" + pdf.string() + "' -").output);
  std::string words;
  std::string word;
  while (text >> word) words += word + ' ';
  return words;
}

/// Ink at every mm of grid and bar; letters depend on the fonts of the machine.
std::string inks(const test::DrawnPage& page, const CardLayout& card, const CardPage& where) {
  std::string inks;
  for (double y = 0.3; y < card.rows * card.pitch_mm; y += 1.0) {
    for (double x = 0.3; x < card.columns * card.pitch_mm; x += 1.0) {
      inks += page.ink(where.grid_top_left_mm + Eigen::Vector2d(x, y));
    }
  }
  for (double x = -2.0; x < where.bar_length_mm + 2.0; x += 0.5) {
    inks += page.ink(where.bar_start_mm + Eigen::Vector2d(x, 0.0));
  }
  return inks;
}

void expect_as_drawn_today(CardKind kind, Sheet sheet, CardFormat format,
                           const std::string& ending) {
  const std::filesystem::path file = committed(kind, sheet, ending);
  SCOPED_TRACE(file);
  ASSERT_TRUE(std::filesystem::exists(file));
  const test::ScratchFolder scratch;
  draw_card(kind, sheet, format, scratch / "today");
  const CardPage where = card_page(kind, sheet);
  const auto then = test::read_page(file, format);
  const auto today = test::read_page(scratch / "today", format);
  EXPECT_LT((then->size_mm() - today->size_mm()).norm(), 1e-6);
  EXPECT_EQ(inks(*then, card_layout(kind), where), inks(*today, card_layout(kind), where));
  if (format != CardFormat::pdf) return;
  EXPECT_EQ(words_of(file), words_of(scratch / "today"));
}

TEST(CalibrationFolderProperty, PdfsAreWhatTheProgramDrawsToday) {
  for (const CardKind kind : kAllCards) {
    for (const Sheet sheet : {Sheet::a4, Sheet::letter}) {
      expect_as_drawn_today(kind, sheet, CardFormat::pdf, "pdf");
    }
  }
}

TEST(CalibrationFolderProperty, PicturesAreWhatTheProgramDrawsToday) {
  for (const CardKind kind : {CardKind::lens, CardKind::edge}) {
    expect_as_drawn_today(kind, Sheet::a4, CardFormat::svg, "svg");
    expect_as_drawn_today(kind, Sheet::a4, CardFormat::png, "png");
  }
}

}  // namespace
}  // namespace evenbevel
