#include "evenbevel/error.hpp"

#include <gtest/gtest.h>

namespace evenbevel {
namespace {

TEST(ErrorClosedForm, CarriesBothSentences) {
  const Error error("the photo has no card", "lay the edge card in view");
  EXPECT_STREQ(error.what(), "the photo has no card");
  EXPECT_EQ(error.do_next(), "lay the edge card in view");
}

TEST(ErrorClosedForm, SpeaksBothUnits) {
  const Error error("3 mm.jpg: the card stands up by " + length_words(3.81, 2), "lay it flat");
  EXPECT_STREQ(error.what(), "3 mm.jpg: the card stands up by 3.81 mm");
  EXPECT_EQ(error.what_is_wrong().in, "3 mm.jpg: the card stands up by 0.1500 in");
  EXPECT_EQ(error.what_to_do().in, "lay it flat");
}

}  // namespace
}  // namespace evenbevel
