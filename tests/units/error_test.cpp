#include "evenbevel/error.hpp"

#include <gtest/gtest.h>

namespace evenbevel {
namespace {

TEST(ErrorClosedForm, CarriesBothSentences) {
  const Error error("the photo has no card", "lay the edge card in view");
  EXPECT_STREQ(error.what(), "the photo has no card");
  EXPECT_EQ(error.do_next(), "lay the edge card in view");
}

}  // namespace
}  // namespace evenbevel
