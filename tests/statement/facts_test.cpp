#include "evenbevel/facts.hpp"

#include <cmath>
#include <limits>

#include <gtest/gtest.h>

namespace evenbevel {
namespace {

TEST(FactsClosedForm, GiveBackWhatWasStated) {
  Facts facts;
  facts.add_number("rms", 0.12349, 3).add_count("corners", 42).add_text("kind", "edge card");
  facts.add_part("lens", Facts().add_mm("focal", 4.25));
  EXPECT_EQ(facts.number("rms"), 0.123);
  EXPECT_EQ(facts.number("corners"), 42.0);
  EXPECT_EQ(facts.text("kind"), "edge card");
  EXPECT_EQ(facts.part("lens").number("focal"), 4.25);
}

TEST(FactsClosedForm, StandInTheOrderInWhichTheyWereStated) {
  std::string order;
  const Facts facts = Facts().add_count("z", 1).add_count("a", 2).add_count("m", 3);
  for (const auto& [name, value] : facts) order += name;
  EXPECT_EQ(order, "zam");
}

TEST(FactsBadInput, WhatIsNotStatedIsEmpty) {
  const Facts facts = Facts().add_text("kind", "edge card");
  EXPECT_FALSE(facts.number("kind")) << "a text is no number";
  EXPECT_FALSE(facts.number("rms"));
  EXPECT_EQ(facts.text("rms"), "");
  EXPECT_TRUE(facts.part("kind").empty());
  EXPECT_EQ(facts.find("rms"), nullptr);
}

TEST(FactsBadInput, WhatIsNoNumberIsNotStated) {
  Facts facts;
  facts.add_number("nan", std::numeric_limits<double>::quiet_NaN(), 3);
  facts.add_number("none", std::nullopt, 3).add_text("nothing", "");
  EXPECT_TRUE(facts.empty());
}

TEST(RoundedClosedForm, ToItsPlaceAndWithoutAMinusBeforeZero) {
  EXPECT_EQ(rounded(0.1 + 0.2, 5), 0.3);
  EXPECT_FALSE(std::signbit(rounded(-1e-9, 5)));
}

}  // namespace
}  // namespace evenbevel
