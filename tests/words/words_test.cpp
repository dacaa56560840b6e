#include "evenbevel/words.hpp"

#include <set>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace evenbevel {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::Not;

/// Every code, with numbers that show in a sentence and words that are found in it again.
std::vector<Remark> all_remarks() {
  std::vector<Remark> all;
  for (const RemarkKind& kind : words::kKinds) {
    Remark& remark = all.emplace_back(Remark{.code = kind.code});
    for (std::size_t i = 0; i < kind.count(); ++i) {
      const std::string name(kind.values[i].name);
      if (kind.values[i].number) {
        remark.values.push_back({name, 11.0 * static_cast<double>(i + 1)});
      } else {
        remark.values.push_back({name, InUnits("<" + name + ">")});
      }
    }
  }
  return all;
}

TEST(WordsProperty, EveryCodeHasASentenceWithAllItsValuesInBothUnits) {
  for (const Remark& remark : all_remarks()) {
    const std::string_view id = kind_of(remark.code).id;
    for (const LengthUnit unit : {LengthUnit::mm, LengthUnit::inch}) {
      const std::string said = sentence(remark, unit);
      EXPECT_FALSE(said.empty()) << id;
      EXPECT_THAT(said, Not(testing::ContainsRegex("[{}?]"))) << id;
      for (const auto& [name, value] : remark.values) {
        if (std::holds_alternative<InUnits>(value)) {
          EXPECT_THAT(said, HasSubstr("<" + name + ">")) << id;
        }
      }
    }
  }
}

TEST(WordsProperty, LengthsAndOnlyLengthsDifferBetweenTheUnits) {
  for (const Remark& remark : all_remarks()) {
    bool length = false;
    for (const auto& [name, value] : remark.values) length = length || name.ends_with("_mm");
    const InUnits said = sentence(remark);
    EXPECT_EQ(said.mm != said.in, length) << said.mm;
    EXPECT_THAT(said.in, Not(testing::ContainsRegex("[0-9] mm"))) << said.in;
  }
}

TEST(WordsProperty, EveryCodeHasAnIdOfItsOwn) {
  std::set<std::string_view> ids;
  for (const RemarkKind& kind : words::kKinds) ids.insert(kind.id);
  EXPECT_EQ(ids.size(), words::kKinds.size());
}

TEST(WordsClosedForm, NumbersAreSaidWithTheirUnit) {
  EXPECT_EQ(sentence(remark<RemarkCode::card_bent>(0.508), LengthUnit::mm),
            "The card is bent by 0.5 mm.");
  EXPECT_EQ(sentence(remark<RemarkCode::card_bent>(0.508), LengthUnit::inch),
            "The card is bent by 0.020 in.");
  EXPECT_THAT(sentence(remark<RemarkCode::one_distance>(254.0, 304.8), LengthUnit::inch),
              HasSubstr("(10.00 to 12.00 in)"));
  EXPECT_THAT(sentence(remark<RemarkCode::blade_small>(10.0), LengthUnit::inch),
              HasSubstr("254 px an inch"));
}

TEST(WordsClosedForm, ADigitThatIsCutOffIsNotRounded) {
  EXPECT_THAT(sentence(remark<RemarkCode::photo_soft>(1.99), LengthUnit::mm), HasSubstr("1.9 px"));
}

// What a maker calls a file is no length.
TEST(WordsClosedForm, NamesStayAsTheyAre) {
  const Remark left_out = remark<RemarkCode::photo_left_out>(
      "paring 3 mm blade.jpg: the card is bent by " + length_words(2.54, 2));
  EXPECT_EQ(sentence(left_out, LengthUnit::inch),
            "Left out: paring 3 mm blade.jpg: the card is bent by 0.1000 in.");
  EXPECT_THAT(sentence(remark<RemarkCode::photo_on_trust>("3 mm.jpg"), LengthUnit::inch),
              HasSubstr("of 3 mm.jpg:"));
  EXPECT_THAT(
      sentence(remark<RemarkCode::reading_left_out>("{photo} 3 mm", "why"), LengthUnit::inch),
      HasSubstr("{photo} 3 mm, why"));
}

TEST(WordsClosedForm, WhatReadsTheSameIsSaidOnce) {
  std::vector<Remark> all = {remark<RemarkCode::photo_soft>(1.91)};
  add_new(all,
          std::vector{remark<RemarkCode::photo_soft>(1.94), remark<RemarkCode::photo_soft>(2.0),
                      remark<RemarkCode::focus_on_edge>()});
  EXPECT_THAT(sentences(all, LengthUnit::mm),
              ElementsAre("The photo is soft: borders are blurred over 1.9 px.",
                          "The photo is soft: borders are blurred over 2.0 px.",
                          HasSubstr("tap on the edge")));
}

TEST(WordsBadInput, AValueThatIsNotThereIsAsked) {
  EXPECT_EQ(sentence(Remark{.code = RemarkCode::card_bent}, LengthUnit::mm),
            "The card is bent by ?.");
}

}  // namespace
}  // namespace evenbevel
