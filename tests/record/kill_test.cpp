#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "kill_trial.hpp"

namespace evenbevel {
namespace {

using testing::ElementsAre;

// A small part of what bench_record_kills does.
TEST(RecordKillProperty, AKilledAddLeavesTheLastCompleteState) {
  constexpr int kKills = 40;
  const test::Shop shop;
  const test::KillTally tally = test::kill_adds(shop, kKills, 1);
  EXPECT_THAT(tally.wrong, ElementsAre());
  // The instants were worth something: most hit a writer at work, and entries did go in.
  EXPECT_GT(tally.in_time, kKills / 3);
  EXPECT_GT(tally.confirmed, kKills);
}

TEST(RecordKillProperty, TwoProcessesAtOnceAreSafe) {
  constexpr int kProcesses = 4;
  constexpr int kEntries = 15;
  const test::Shop shop;
  EXPECT_EQ(test::add_at_once(shop, kProcesses, kEntries), 0);
  std::int64_t entries = 0;
  for (const KnifeLine& knife : shop.record().list()) entries += knife.entries;
  EXPECT_EQ(entries, kProcesses * kEntries);
  EXPECT_THAT(check_record(shop.file()).faults, ElementsAre());
  EXPECT_THAT(check_record(shop.file()).remarks, ElementsAre());
}

}  // namespace
}  // namespace evenbevel
