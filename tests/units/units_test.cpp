#include "evenbevel/units.hpp"

#include <cmath>
#include <limits>
#include <utility>

#include <gtest/gtest.h>

#include "seeded.hpp"

namespace evenbevel {
namespace {

constexpr double kExact = 1e-12;  // a few roundings of a double near 1

struct Reading {
  const char* text;
  double mm;
};

void expect_reads(const Reading& reading, LengthUnit bare) {
  const std::optional<double> mm = parse_length_mm(reading.text, bare);
  ASSERT_TRUE(mm.has_value()) << reading.text;
  EXPECT_NEAR(*mm, reading.mm, kExact) << reading.text;
}

// 1 in = 25.4 mm exactly: international yard and pound agreement, 1959.
TEST(UnitsClosedForm, NamedUnitsDoNotCareForTheBareUnit) {
  for (const Reading reading : {Reading{"0.100in", 2.54}, {"2.54mm", 2.54},
                                {"10thou", 0.254},        {"1/8in", 3.175},
                                {"0.1\"", 2.54},          {"0.1\u2033", 2.54},
                                {"0.1\u201d", 2.54},      {"1 1/8in", 28.575},
                                {"1-1/8in", 28.575},      {"3/32in", 2.38125},
                                {"3/32 in", 2.38125},     {"1 1/2in", 38.1},
                                {"1 1/2\"", 38.1},        {"63/64\"", 25.003125},
                                {" 2.54 mm ", 2.54},      {"2.54 MM", 2.54},
                                {"0.254cm", 2.54},        {"12um", 0.012},
                                {"12\u00b5m", 0.012},     {".1inch", 2.54},
                                {"1e-1in", 2.54},         {"0mm", 0.0}}) {
    expect_reads(reading, LengthUnit::mm);
    expect_reads(reading, LengthUnit::inch);
  }
}

TEST(UnitsClosedForm, ALoneCommaBetweenDigitsIsTheDecimalPoint) {
  expect_reads({"3,2mm", 3.2}, LengthUnit::inch);
  expect_reads({"-0,125in", -3.175}, LengthUnit::mm);
  expect_reads({"3,2", 3.2}, LengthUnit::mm);
}

TEST(UnitsClosedForm, BareNumbersTakeTheBareUnit) {
  expect_reads({"2.54", 2.54}, LengthUnit::mm);
  expect_reads({"0.1", 2.54}, LengthUnit::inch);
  expect_reads({"1/8", 3.175}, LengthUnit::inch);
}

TEST(UnitsClosedForm, SignsAreReadAndLeftToTheCaller) {
  expect_reads({"-1.5mm", -1.5}, LengthUnit::mm);
  expect_reads({"+1.5mm", 1.5}, LengthUnit::mm);
  expect_reads({"-1 1/2in", -38.1}, LengthUnit::mm);
}

// A right angle is pi / 2 rad and has 90 degrees.
TEST(UnitsClosedForm, AnglesAreDegrees) {
  for (const auto& [text, degrees_read] : {std::pair{"90", 90.0},
                                           {"90deg", 90.0},
                                           {" 90 deg ", 90.0},
                                           {"22 1/2 deg", 22.5},
                                           {"22.5\u00b0", 22.5},
                                           {"17.5 Degrees", 17.5},
                                           {"17,5", 17.5},
                                           {"-5deg", -5.0},
                                           {"0", 0.0}}) {
    const std::optional<double> angle_rad = parse_angle_rad(text);
    ASSERT_TRUE(angle_rad.has_value()) << text;
    EXPECT_NEAR(*angle_rad, std::acos(0.0) * degrees_read / 90.0, kExact) << text;
  }
}

TEST(UnitsBadInput, WhatIsNotAnAngleIsNotRead) {
  for (const char* text : {"", "deg", "17mm", "17in", "17rad", "nan", "inf", "1e400", "17,5,5"}) {
    EXPECT_FALSE(parse_angle_rad(text).has_value()) << text;
  }
}

// One thousandth of 25.4 mm.
TEST(UnitsClosedForm, ThouAreThousandthsOfAnInch) {
  EXPECT_EQ(format_length(0.0306, LengthUnit::thou), "1.2 thou");
  EXPECT_EQ(format_length(-0.00001, LengthUnit::thou), "0.0 thou");
  expect_reads({"12", 0.3048}, LengthUnit::thou);
  InUnits words = in_units([](LengthUnit unit) { return format_length(0.3048, unit); });
  words += " wide";
  EXPECT_EQ(words.said(LengthUnit::thou), "12.0 thou wide");
  EXPECT_EQ(InUnits("3 mm", "0.12 in").said(LengthUnit::thou), "0.12 in");
}

TEST(UnitsClosedForm, LengthsPrintWithTheirUnit) {
  EXPECT_EQ(format_length(0.0306, LengthUnit::mm), "0.031 mm");
  EXPECT_EQ(format_length(0.0306, LengthUnit::inch), "0.0012 in");
  EXPECT_EQ(format_length(-2.54, LengthUnit::inch), "-0.1000 in");
  EXPECT_EQ(format_signed_length(0.0306, LengthUnit::mm), "+0.031 mm");
  EXPECT_EQ(format_signed_length(-0.0306, LengthUnit::mm), "-0.031 mm");
}

TEST(UnitsClosedForm, ZeroHasNoMinus) {
  EXPECT_EQ(format_length(-0.0001, LengthUnit::mm), "0.000 mm");
  EXPECT_EQ(format_length(-0.0, LengthUnit::inch), "0.0000 in");
  EXPECT_EQ(format_signed_length(-0.0001, LengthUnit::mm), "+0.000 mm");
}

TEST(UnitsClosedForm, LengthsInSentencesHaveTwoMoreDecimalsInInches) {
  EXPECT_EQ(length_words(2.0, "-", 10.0, 0), InUnits("2-10 mm", "0.08-0.39 in"));
  EXPECT_EQ(length_words(0.2, " to ", 0.35, 1).in, "0.008 to 0.014 in");
  EXPECT_EQ(length_words(12.7, 1), InUnits("12.7 mm", "0.500 in"));
  EXPECT_EQ(length_words(0.508, 3), InUnits("0.508 mm", "0.0200 in"));
  EXPECT_EQ(density_words(6.0, 1), InUnits("6.0 px a mm", "152 px an inch"));
}

TEST(UnitsClosedForm, SentencesOfBothUnitsAreJoined) {
  const InUnits said = "the blade is " + length_words(25.4, 1) + " wide";
  EXPECT_EQ(said, InUnits("the blade is 25.4 mm wide", "the blade is 1.000 in wide"));
  EXPECT_EQ(said.said(LengthUnit::inch), said.in);
  EXPECT_EQ(InUnits("3 mm.jpg").in, "3 mm.jpg");
}

TEST(UnitsProperty, PrintedLengthsReadBackToTheLastDigit) {
  for (int scene = 0; scene < 200; ++scene) {
    std::mt19937_64 rng = test::seeded("UnitsProperty", scene);
    const double mm = test::uniform(rng, -300.0, 300.0);
    const std::optional<double> from_mm =
        parse_length_mm(format_length(mm, LengthUnit::mm), LengthUnit::inch);
    const std::optional<double> from_inch =
        parse_length_mm(format_signed_length(mm, LengthUnit::inch), LengthUnit::mm);
    ASSERT_TRUE(from_mm && from_inch);
    EXPECT_NEAR(*from_mm, mm, 0.0005 + kExact);  // half of the last digit
    EXPECT_NEAR(*from_inch, mm, 0.00005 * kMmPerInch + kExact);
  }
}

TEST(UnitsBadInput, WhatIsNotALengthIsNotRead) {
  for (const char* text :
       {"",          " ",     "mm",     "in",          "abc",     "2.54m m", "1,234.5mm",
        "1,2,3mm",   ",5mm",  "5,mm",   "1/0in",       "1/in",    "/8in",    "1 2in",
        "1 1/8 1in", "nan",   "inf",    "infinity mm", "nan mm",  "1e400mm", "1e308in",
        "--1mm",     "+-1mm", "0x10mm", "3.2 furlong", "3.2mm2",  "1//8in",  "1/-8in",
        "1.2.3mm",   "1-2in", "1-in",   "1--1/8in",    "1 -1/8in"}) {
    EXPECT_FALSE(parse_length_mm(text, LengthUnit::mm).has_value()) << text;
  }
}

TEST(UnitsBadInput, NotANumberPrintsWithoutAnotherNumberInItsPlace) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  EXPECT_NE(format_length(nan, LengthUnit::mm).find("nan"), std::string::npos);
}

}  // namespace
}  // namespace evenbevel
