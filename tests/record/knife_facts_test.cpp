#include <array>
#include <fstream>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "evenbevel/error.hpp"
#include "evenbevel/record_exchange.hpp"
#include "knife_maker.hpp"

namespace evenbevel {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::Pair;

const std::array kHeron = {SaidFact{KnifeFact::thickness, 3.4}, SaidFact{KnifeFact::land, 0.3},
                           SaidFact{KnifeFact::tolerance, 0.05}};

TEST(KnifeFactsClosedForm, WhatIsSaidOfAKnifeIsFoundUnderItsName) {
  const test::Shop shop;
  Record record = shop.record();
  record.say_facts("heron", kHeron, test::kWhen);
  EXPECT_THAT(record.facts("HERON"),
              ElementsAre(Pair(KnifeFact::thickness, 3.4), Pair(KnifeFact::land, 0.3),
                          Pair(KnifeFact::tolerance, 0.05)));
  EXPECT_TRUE(record.facts("osprey").empty());
  EXPECT_EQ(record.list().size(), 1U);
  EXPECT_TRUE(record.knife("heron").entries.empty());
  EXPECT_THAT(knife_text(record.knife("heron"), LengthUnit::mm),
              testing::AllOf(HasSubstr("0 entries"), HasSubstr("stock thickness: 3.4 mm\n"),
                             HasSubstr("wanted land: 0.3 mm\n")));
  EXPECT_THAT(knife_text(record.knife("heron"), LengthUnit::thou),
              HasSubstr("stock thickness: 133.9 thou\n"));
}

TEST(KnifeFactsClosedForm, TheNewestCountsAndOneCanBeTakenBack) {
  const test::Shop shop;
  Record record = shop.record();
  record.say_facts("heron", kHeron, test::kWhen);
  const std::array later = {SaidFact{KnifeFact::thickness, 3.35}, SaidFact{KnifeFact::land, {}}};
  record.say_facts("heron", later, test::kWhen);
  EXPECT_THAT(record.facts("heron"),
              ElementsAre(Pair(KnifeFact::thickness, 3.35), Pair(KnifeFact::tolerance, 0.05)));
}

TEST(KnifeFactsClosedForm, AnEntryThatComesLaterGoesToTheSameKnife) {
  const test::Shop shop;
  Record record = shop.record();
  record.say_facts("heron", kHeron, test::kWhen);
  EXPECT_FALSE(record.add(shop.entry("heron", "60 grit", "a")).new_knife);
  EXPECT_EQ(record.knife("heron").facts.size(), 3U);
}

TEST(KnifeFactsClosedForm, AKnifeInTheBinTakesItsFactsWithIt) {
  const test::Shop shop;
  Record record = shop.record();
  record.say_facts("heron", kHeron, test::kWhen);
  record.remove_knife("heron", test::kWhen);
  EXPECT_TRUE(record.facts("heron").empty());
  record.restore_knife("heron");
  EXPECT_EQ(record.facts("heron").size(), 3U);
}

TEST(KnifeFactsClosedForm, TheyAreExportedAndImportedAndWhatIsKnownThereStays) {
  const test::Shop here, there;
  Record record = here.record();
  record.say_facts("heron", kHeron, test::kWhen);
  record.add(here.entry("osprey", "60 grit", "a"));
  const auto json = nlohmann::json::parse(record_json(record));
  EXPECT_EQ(json.at("knives").at(0).at("facts").at("thickness"), 3.4);
  export_everything(record, here / "export");

  Record other = there.record();
  const SaidFact own{KnifeFact::thickness, 3.2};
  other.say_facts("heron", {&own, 1}, test::kWhen);
  import_everything(other, here / "export");
  EXPECT_THAT(other.facts("heron"),
              ElementsAre(Pair(KnifeFact::thickness, 3.2), Pair(KnifeFact::land, 0.3),
                          Pair(KnifeFact::tolerance, 0.05)));
  import_everything(other, here / "export");
  EXPECT_EQ(other.facts("heron").size(), 3U);
}

TEST(KnifeFactsClosedForm, TheyAreRescuedWithTheKnife) {
  const test::Shop shop;
  shop.record().say_facts("heron", kHeron, test::kWhen);
  shop.record().add(shop.entry("heron", "60 grit", "a"));
  rescue_record(shop.file(), shop / "rescued.sqlite");
  EXPECT_EQ(Record::open(shop / "rescued.sqlite").facts("heron").size(), 3U);
}

TEST(KnifeFactsBadInput, AKnifeNeedsAName) {
  const test::Shop shop;
  EXPECT_THROW(shop.record().say_facts(" ", kHeron, test::kWhen), Error);
}

}  // namespace
}  // namespace evenbevel
