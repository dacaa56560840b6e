#include "bench/phone_words.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace evenbevel::bench {
namespace {

TEST(PhoneWordsClosedForm, WhatOnlyTheCommandLineCanDoIsLeftOut) {
  EXPECT_EQ(without_options("lay the card flat; or take a quick look without it (--no-card)"),
            "lay the card flat");
  EXPECT_EQ(without_options("measure the stock again; check the card's printed bar with calipers "
                            "(--printed-bar) and that the card lies flat"),
            "measure the stock again; check the card's printed bar with calipers and that the card "
            "lies flat");
  EXPECT_EQ(without_options("light its lines; if they do show, name the stage with --shows"),
            "light its lines");
  EXPECT_EQ(without_options("take the photo again"), "take the photo again");
}

TEST(PhoneWordsClosedForm, WhatThePageAsksForIsSaidThere) {
  EXPECT_EQ(without_options("give --tip right or --tip left"),
            "say below where the tip points: hold the card upright, its text readable");
  EXPECT_EQ(without_options("give --shows scribed, or --shows ground"),
            "say below what the photo shows");
  EXPECT_EQ(without_options("check --thickness and --shows, and take the photo again"),
            "check the thickness and what the photo shows, and take the photo again");
  EXPECT_THAT(questions_of(Error("wrong", "give --tip right or --tip left")),
              testing::ElementsAre(Question::tip));
  EXPECT_THAT(questions_of(Error("wrong", "give --shows scribed; or see --tip")),
              testing::ElementsAre(Question::tip, Question::shows));
  EXPECT_THAT(questions_of(Error("wrong", "take the photo again")), testing::IsEmpty());
}

TEST(PhoneWordsClosedForm, WhatNothingElseCanDoIsForTheComputer) {
  EXPECT_EQ(without_options("give --printed-bar"), "on the computer: give --printed-bar");
}

TEST(PhoneWordsProperty, EveryUnitsSentenceIsCleaned) {
  Error error("wrong", InUnits("wait 3 mm; or give --a", "wait 1 in; or give --a"));
  const Error clean = without_options(error);
  EXPECT_EQ(clean.what_to_do().said(LengthUnit::mm), "wait 3 mm");
  EXPECT_EQ(clean.what_to_do().said(LengthUnit::inch), "wait 1 in");
  EXPECT_EQ(clean.what_to_do().said(LengthUnit::thou), "wait 1 in");
  EXPECT_EQ(clean.what_is_wrong().mm, "wrong");
}

}  // namespace
}  // namespace evenbevel::bench
