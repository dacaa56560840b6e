#include <cmath>
#include <fstream>
#include <map>
#include <regex>
#include <string>

#include <gtest/gtest.h>

#include "evenbevel/plan.hpp"

namespace evenbevel {
namespace {

/// Inches by size, as the Debian package units (GNU units) lists them: drillgauge and drillA to
/// drillZ, after ANSI/ASME B94.11M. It leaves out sizes that lie evenly between their neighbours.
std::map<std::string, double> listed_sizes() {
  std::ifstream file("/usr/share/units/definitions.units");
  std::map<std::string, double> sizes;
  const std::regex letter(R"(drill([A-Z])\s+(\d*\.\d+) in\s*)");
  const std::regex number(R"(\s+(\d+)\s+(\d*\.\d+)\s*\\?\s*)");
  bool in_gauge = false;
  std::smatch found;
  for (std::string line; std::getline(file, line);) {
    if (std::regex_match(line, found, letter)) sizes[found[1]] = std::stod(found[2]);
    const bool gauge_row = in_gauge && std::regex_match(line, found, number);
    if (gauge_row) sizes['#' + found[1].str()] = std::stod(found[2]);
    in_gauge = line.starts_with("drillgauge[in]") || gauge_row;
  }
  return sizes;
}

double listed_number_in(const std::map<std::string, double>& sizes, int number) {
  const auto size = [&sizes](int n) { return sizes.find('#' + std::to_string(n)); };
  int below = number, above = number;
  while (size(below) == sizes.end()) --below;
  while (size(above) == sizes.end()) ++above;
  if (below == above) return size(number)->second;
  const double share = static_cast<double>(number - below) / (above - below);
  return size(below)->second + share * (size(above)->second - size(below)->second);
}

TEST(PlanDrillsOutside, NumbersAndLettersAsGnuUnitsListsThem) {
  const std::map<std::string, double> sizes = listed_sizes();
  ASSERT_GT(sizes.size(), 26U + 60U) << "install the package units";
  for (int number = 1; number <= 80; ++number) {
    const std::optional<Drill> drill = find_drill('#' + std::to_string(number));
    ASSERT_TRUE(drill.has_value()) << number;
    EXPECT_NEAR(drill->diameter_mm / kMmPerInch, listed_number_in(sizes, number), 1e-9) << number;
  }
  for (char letter = 'A'; letter <= 'Z'; ++letter) {
    const std::string name(1, letter);
    EXPECT_NEAR(find_drill(name)->diameter_mm / kMmPerInch, sizes.at(name), 1e-9) << name;
  }
}

// "Metric, Inch, & Fractional Inch: Drills, Sizes, Threads, & Preferred Sizes", v.2, a chart in the
// public domain (CircuitousRoot, 2007), in mm: among them sizes that the list above leaves out.
TEST(PlanDrillsOutside, SmallNumbersAsOnAPublicChart) {
  for (const auto& [name, mm] : {std::pair{"#79", 0.36830},
                                 {"#77", 0.45720},
                                 {"#74", 0.57150},
                                 {"#72", 0.63500},
                                 {"#69", 0.74168},
                                 {"#67", 0.81280},
                                 {"#64", 0.91440},
                                 {"#63", 0.93980},
                                 {"#62", 0.96520},
                                 {"#61", 0.99060},
                                 {"#60", 1.01600},
                                 {"#59", 1.04140},
                                 {"#58", 1.06680},
                                 {"#56", 1.18110},
                                 {"#53", 1.51130}}) {
    EXPECT_NEAR(find_drill(name)->diameter_mm, mm, 1e-9) << name;
  }
}

// Decimal equivalents of the fractions of an inch, to four places as shop charts print them
// (from memory); those that end in 5 at the fifth place are rounded up.
TEST(PlanDrillsOutside, FractionsPrintAsOnTheShopChart) {
  for (const auto& [fraction, inches] : {std::pair{"1/64", "0.0156 in"},
                                         {"1/32", "0.0313 in"},
                                         {"3/64", "0.0469 in"},
                                         {"5/64", "0.0781 in"},
                                         {"3/32", "0.0938 in"},
                                         {"7/64", "0.1094 in"},
                                         {"1/8", "0.1250 in"},
                                         {"11/32", "0.3438 in"},
                                         {"31/32", "0.9688 in"}}) {
    bool found = false;
    for (const Drill& drill : drills()) {
      if (drill.name != std::string(fraction) + " in") continue;
      EXPECT_EQ(format_length(drill.diameter_mm, LengthUnit::inch), inches);
      EXPECT_NEAR(drill.diameter_mm, *parse_length_mm(drill.name, LengthUnit::mm), 1e-12);
      found = true;
    }
    EXPECT_TRUE(found) << fraction;
  }
}

}  // namespace
}  // namespace evenbevel
