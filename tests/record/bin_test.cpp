#include <functional>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "evenbevel/error.hpp"
#include "evenbevel/record.hpp"
#include "knife_maker.hpp"

namespace evenbevel {
namespace {

using test::kWhen;

TEST(RecordBinClosedForm, AKnifeComesBackAsItWas) {
  const test::Shop shop;
  shop.record().add(shop.entry("paring 3", "scribed", "a"));
  shop.record().add(shop.entry("paring 3", "60 grit", "b"));
  const std::string before = knife_text(shop.record().knife("paring 3"), LengthUnit::mm);
  shop.record().remove_knife("paring 3", kWhen);
  EXPECT_EQ(shop.record().list().size(), 0U);
  EXPECT_THROW(shop.record().knife("paring 3"), Error);
  ASSERT_EQ(shop.record().list(true).size(), 1U);
  EXPECT_EQ(shop.record().list(true).front().entries, 2);
  shop.record().restore_knife("paring 3");
  EXPECT_EQ(knife_text(shop.record().knife("paring 3"), LengthUnit::mm), before);
  EXPECT_EQ(shop.record().list(true).size(), 0U);
}

TEST(RecordBinClosedForm, ARemovedReportMayBeAddedToTheRightKnife) {
  const test::Shop shop;
  NewEntry entry = shop.entry("wrong", "60 grit", "a");
  shop.record().add(entry);
  shop.record().remove_knife("wrong", kWhen);
  entry.knife = "right";
  EXPECT_FALSE(shop.record().add(entry).was_there);
  EXPECT_THROW(shop.record().restore_knife("wrong"), Error) << "two entries of one report";
  EXPECT_EQ(shop.record().list(true).size(), 1U);
}

TEST(RecordBinClosedForm, OneEntryGoesAndComesBack) {
  const test::Shop shop;
  shop.record().add(shop.entry("paring 3", "scribed", "a"));
  shop.record().add(shop.entry("paring 3", "60 grit", "b"));
  shop.record().remove_entry("paring 3", 2, kWhen);
  EXPECT_EQ(shop.record().knife("paring 3").entries.size(), 1U);
  EXPECT_EQ(shop.record().list().front().last_stage, "scribed");
  ASSERT_EQ(shop.record().binned_entries().size(), 1U);
  EXPECT_EQ(shop.record().binned_entries().front().stage, "60 grit");
  shop.record().restore_entry(2);
  EXPECT_EQ(shop.record().knife("paring 3").entries.size(), 2U);
}

TEST(RecordBinClosedForm, AnEntryRemovedBeforeItsKnifeStaysInTheBin) {
  const test::Shop shop;
  shop.record().add(shop.entry("paring 3", "scribed", "a"));
  shop.record().add(shop.entry("paring 3", "60 grit", "b"));
  shop.record().remove_entry("paring 3", 2, "2026-03-14T09:00:00Z");
  shop.record().remove_knife("paring 3", "2026-03-15T09:00:00Z");
  shop.record().restore_knife("paring 3");
  EXPECT_EQ(shop.record().knife("paring 3").entries.size(), 1U);
}

TEST(RecordBinBadInput, WhatIsNotThereIsNotRemoved) {
  const test::Shop shop;
  shop.record().add(shop.entry("paring 3", "scribed", "a"));
  shop.record().add(shop.entry("other", "scribed", "b"));
  EXPECT_THROW(shop.record().remove_knife("paring", kWhen), Error);
  EXPECT_THROW(shop.record().remove_entry("paring 3", 2, kWhen), Error) << "of another knife";
  EXPECT_THROW(shop.record().restore_knife("paring 3"), Error);
  EXPECT_THROW(shop.record().restore_entry(1), Error);
  EXPECT_EQ(shop.record().list().size(), 2U);
}

TEST(RecordBinBadInput, ANameInUseAgainIsNotTakenBack) {
  const test::Shop shop;
  shop.record().add(shop.entry("paring 3", "scribed", "a"));
  shop.record().remove_knife("paring 3", kWhen);
  shop.record().add(shop.entry("paring 3", "scribed", "b"));
  EXPECT_THROW(shop.record().restore_knife("paring 3"), Error);
  EXPECT_EQ(shop.record().knife("paring 3").entries.size(), 1U);
}

}  // namespace
}  // namespace evenbevel
