#include "bench/guard.hpp"

#include <set>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "evenbevel/bench.hpp"

namespace evenbevel::bench {
namespace {

TEST(BenchGuardClosedForm, AddressesAndLocalhostAreHosts) {
  for (const char* host : {"127.0.0.1", "127.0.0.1:8460", "192.168.1.20:80", "localhost",
                           "LOCALHOST:8460", "[::1]", "[fe80::1]:8460"}) {
    EXPECT_TRUE(host_allowed(host)) << host;
  }
  for (const char* host :
       {"", "evil.example", "evil.example:8460", "127.0.0.1.evil.example", "localhost.evil.example",
        "127.0.0.1:", "127.0.0.1:80:80", "127.0.0.1:8460evil", "[::1", "[::1]x", "[localhost]",
        "127.0.0.1@evil.example", "127.0.0.1/", " 127.0.0.1", "0x7f.1"}) {
    EXPECT_FALSE(host_allowed(host)) << host;
  }
}

TEST(BenchGuardClosedForm, OnlyTheWholeSecretIsTheSecret) {
  EXPECT_TRUE(same_secret("0123", "0123"));
  for (const char* given : {"", "012", "01234", "0124", "1123"}) {
    EXPECT_FALSE(same_secret(given, "0123")) << given;
  }
}

TEST(BenchGuardClosedForm, CookiesAndQueriesAreReadByName) {
  EXPECT_EQ(cookie_value("a=1; evenbevel-x=abc; b=2", "evenbevel-x"), "abc");
  EXPECT_EQ(cookie_value("no-evenbevel-x=abc", "evenbevel-x"), "");
  EXPECT_EQ(cookie_value("evenbevel-xy=abc", "evenbevel-x"), "");
  EXPECT_EQ(query_value("/?a=1&t=abc", "t"), "abc");
  EXPECT_EQ(query_value("/t=abc", "t"), "");
  EXPECT_EQ(path_of("/state?job=3"), "/state");
}

TEST(BenchGuardProperty, TokensAre128BitsAndNeverAlike) {
  std::set<std::string> seen;
  for (int i = 0; i < 1000; ++i) {
    const std::string token = random_token();
    EXPECT_THAT(token, testing::MatchesRegex("[0-9a-f]{32}"));
    seen.insert(token);
  }
  EXPECT_EQ(seen.size(), 1000U);
}

}  // namespace
}  // namespace evenbevel::bench
