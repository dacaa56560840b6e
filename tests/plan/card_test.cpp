#include <regex>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "evenbevel/advice.hpp"
#include "evenbevel/plan_report.hpp"
#include "run_program.hpp"
#include "scratch_folder.hpp"
#include "seeded.hpp"
#include "true_blade.hpp"

namespace evenbevel {
namespace {

using enum PlanQuantity;
using testing::HasSubstr;

constexpr double kMmPerPoint = 25.4 / 72.0;

struct Word {
  std::string text;
  double left, top, right, bottom;  // points
};

struct ReadCard {
  double width_mm = 0.0, height_mm = 0.0;
  int pages = 0;
  std::vector<Word> words;

  std::string text() const {
    std::string all;
    for (const Word& word : words) all += word.text + ' ';
    return std::regex_replace(all, std::regex("&apos;"), "'");
  }
};

/// Reads the card's words back, by pdftotext (poppler-utils).
ReadCard read_back(const std::string& pdf) {
  const test::ScratchFolder scratch;
  test::write_file(scratch / "card.pdf", pdf);
  const test::ProgramRun run =
      test::run_program("pdftotext -bbox " + (scratch / "card.pdf").string() + " -");
  ReadCard page;
  const std::regex tag(
      "<(page|word) (?:xMin=\"([0-9.]+)\" yMin=\"([0-9.]+)\" xMax=\"([0-9.]+)\" "
      "yMax=\"([0-9.]+)\">([^<]*)|width=\"([0-9.]+)\" height=\"([0-9.]+)\")");
  std::sregex_iterator at(run.output.begin(), run.output.end(), tag);
  for (; at != std::sregex_iterator(); ++at) {
    const std::smatch& found = *at;
    if (found[1] == "page") {
      ++page.pages;
      page.width_mm = std::stod(found[7]) * kMmPerPoint;
      page.height_mm = std::stod(found[8]) * kMmPerPoint;
    } else {
      page.words.push_back({found[6], std::stod(found[2]), std::stod(found[3]), std::stod(found[4]),
                            std::stod(found[5])});
    }
  }
  return page;
}

/// A font's box is taller than its digits: only the middle of it must stay clear.
bool overlap(const Word& a, const Word& b) {
  const double trim_a = 0.3 * (a.bottom - a.top), trim_b = 0.3 * (b.bottom - b.top);
  return a.left < b.right - 0.2 && b.left < a.right - 0.2 && a.top + trim_a < b.bottom - trim_b &&
         b.top + trim_b < a.bottom - trim_a;
}

Plan full_plan() {
  PlanRequest request{.given = {{stock, 3.302},
                                {land, 0.3048},
                                {bevel_height, 20.0},
                                {blade_height, 31.75},
                                {sharpening_angle, radians(17.0)},
                                {length, 120.0},
                                {tip_thickness, 1.6},
                                {rest_length, 152.4}}};
  request.knife = "Hunter 3";
  return make_plan(request);
}

// ISO 216 A4 is 210 x 297 mm; US Letter is 8.5 x 11 in.
TEST(PlanCardClosedForm, OneUprightPage) {
  const ReadCard a4 = read_back(plan_card(full_plan(), LengthUnit::mm, Sheet::a4));
  EXPECT_EQ(a4.pages, 1);
  EXPECT_NEAR(a4.width_mm, 210.0, 0.1);
  EXPECT_NEAR(a4.height_mm, 297.0, 0.1);
  const ReadCard letter = read_back(plan_card(full_plan(), LengthUnit::mm, Sheet::letter));
  EXPECT_NEAR(letter.width_mm, 215.9, 0.1);
  EXPECT_NEAR(letter.height_mm, 279.4, 0.1);
}

TEST(PlanCardClosedForm, TheNumbersAndTheCautionsAreOnIt) {
  const std::string inches = read_back(plan_card(full_plan(), LengthUnit::inch, Sheet::a4)).text();
  for (const char* words : {"Hunter 3", "0.0590 in", "1.499 mm", "4.29\u00b0", "8.57\u00b0",
                            "0.7874", "0.1300", "1.2500", "0.4626", "#31", "turn the blade over"}) {
    EXPECT_THAT(inches, HasSubstr(words));
  }
  for (const std::string& caution : cautions()) EXPECT_THAT(inches, HasSubstr(caution));
  const std::string mm = read_back(plan_card(full_plan(), LengthUnit::mm, Sheet::a4)).text();
  EXPECT_THAT(mm, HasSubstr("1.499 mm"));
  EXPECT_THAT(mm, HasSubstr("20.000"));
}

TEST(PlanCardBadInput, ANameOfAnyBytesLeavesTheRestDrawn) {
  PlanRequest request = full_plan().request;
  for (const char* knife : {"Messer \u00e4\u00f6\u20ac", "bad \xff\xc3 byte", "cut \xe2\x82",
                            "over\xed\xa0\x80lap", "long \xc0\x80", "two\nlines\t"}) {
    request.knife = knife;
    const ReadCard card = read_back(plan_card(make_plan(request), LengthUnit::mm, Sheet::a4));
    EXPECT_THAT(card.text(), HasSubstr(cautions().front())) << knife;
  }
}

TEST(PlanCardProperty, TheSamePlanIsTheSameFile) {
  EXPECT_EQ(plan_card(full_plan(), LengthUnit::mm, Sheet::a4),
            plan_card(full_plan(), LengthUnit::mm, Sheet::a4));
}

void expect_tidy(const ReadCard& page, const std::string& which) {
  constexpr double kRim_pt = 8.0 / kMmPerPoint;  // printers leave some 5 mm white
  for (const Word& word : page.words) {
    EXPECT_GT(word.left, kRim_pt) << which << ": " << word.text;
    EXPECT_GT(word.top, 0.5 * kRim_pt) << which << ": " << word.text;
    EXPECT_LT(word.right, page.width_mm / kMmPerPoint - kRim_pt) << which << ": " << word.text;
    EXPECT_LT(word.bottom, page.height_mm / kMmPerPoint - 0.5 * kRim_pt)
        << which << ": " << word.text;
  }
  for (std::size_t i = 0; i < page.words.size(); ++i) {
    for (std::size_t j = i + 1; j < page.words.size(); ++j) {
      EXPECT_FALSE(overlap(page.words[i], page.words[j]))
          << which << ": " << page.words[i].text << " and " << page.words[j].text;
    }
  }
}

// Whatever the blade, no word runs into another or off the page.
TEST(PlanCardProperty, WordsKeepClearOfEachOther) {
  for (int i = 0; i < 24; ++i) {
    std::mt19937_64 rng = test::seeded("PlanCardProperty", i);
    const test::TrueBlade blade = test::true_blade(rng);
    PlanRequest request;
    for (const PlanQuantity quantity : {stock, land}) request.given[quantity] = blade.at(quantity);
    for (const PlanQuantity quantity :
         {bevel_height, blade_height, sharpening_angle, length, tip_thickness, rest_length}) {
      if (i < 6 || test::uniform(rng, 0.0, 1.0) < 0.6) request.given[quantity] = blade.at(quantity);
    }
    const LengthUnit unit = i % 2 == 0 ? LengthUnit::mm : LengthUnit::inch;
    const Sheet sheet = i % 3 == 0 ? Sheet::letter : Sheet::a4;
    expect_tidy(read_back(plan_card(make_plan(request), unit, sheet)), "card " + std::to_string(i));
  }
}

}  // namespace
}  // namespace evenbevel
