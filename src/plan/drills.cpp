#include <algorithm>
#include <array>
#include <cmath>

#include "evenbevel/plan.hpp"

namespace evenbevel {
namespace {

constexpr double kMmPerTenThousandth = kMmPerInch / 10000.0;

// ANSI/ASME B94.11M, number 1 to 80, in 0.0001 in.
constexpr std::array<int, 80> kNumbers{
    2280, 2210, 2130, 2090, 2055, 2040, 2010, 1990, 1960, 1935, 1910, 1890, 1850, 1820, 1800, 1770,
    1730, 1695, 1660, 1610, 1590, 1570, 1540, 1520, 1495, 1470, 1440, 1405, 1360, 1285, 1200, 1160,
    1130, 1110, 1100, 1065, 1040, 1015, 995,  980,  960,  935,  890,  860,  820,  810,  785,  760,
    730,  700,  670,  635,  595,  550,  520,  465,  430,  420,  410,  400,  390,  380,  370,  360,
    350,  330,  320,  310,  292,  280,  260,  250,  240,  225,  210,  200,  180,  160,  145,  135};

// The same, A to Z.
constexpr std::array<int, 26> kLetters{2340, 2380, 2420, 2460, 2500, 2570, 2610, 2660, 2720,
                                       2770, 2810, 2900, 2950, 3020, 3160, 3230, 3320, 3390,
                                       3480, 3580, 3680, 3770, 3860, 3970, 4040, 4130};

void add_numbers(std::vector<Drill>& all) {
  for (std::size_t i = kNumbers.size(); i-- > 0;) {
    all.push_back(
        {DrillSeries::number, "#" + std::to_string(i + 1), kNumbers[i] * kMmPerTenThousandth});
  }
}

void add_letters(std::vector<Drill>& all) {
  for (std::size_t i = 0; i < kLetters.size(); ++i) {
    all.push_back({DrillSeries::letter, std::string(1, static_cast<char>('A' + i)),
                   kLetters[i] * kMmPerTenThousandth});
  }
}

void add_fractions(std::vector<Drill>& all) {
  for (int sixty_fourths = 1; sixty_fourths < 64; ++sixty_fourths) {
    int numerator = sixty_fourths, denominator = 64;
    while (numerator % 2 == 0) {
      numerator /= 2;
      denominator /= 2;
    }
    all.push_back({DrillSeries::fraction,
                   std::to_string(numerator) + '/' + std::to_string(denominator) + " in",
                   kMmPerInch * sixty_fourths / 64.0});
  }
  all.push_back({DrillSeries::fraction, "1 in", kMmPerInch});
}

/// From hundredths of a millimetre: "2.3 mm", "2.35 mm", "4.0 mm".
std::string metric_name(int hundredths) {
  std::string text = std::to_string(hundredths / 100) + '.' + std::to_string(hundredths / 10 % 10);
  if (hundredths % 10 != 0) text += std::to_string(hundredths % 10);
  return text + " mm";
}

// BS 328: 0.2 to 0.98 mm ending in 0, 2, 5 or 8; to 2.95 by 0.05; to 13.9 by 0.1; to 25 by 0.25.
bool is_metric_size(int hundredths) {
  const int last = hundredths % 10;
  if (hundredths < 100) return last == 0 || last == 2 || last == 5 || last == 8;
  if (hundredths < 300) return last == 0 || last == 5;
  if (hundredths < 1400) return last == 0;
  return hundredths % 25 == 0;
}

void add_metric(std::vector<Drill>& all) {
  for (int hundredths = 20; hundredths <= 2500; ++hundredths) {
    if (!is_metric_size(hundredths)) continue;
    all.push_back({DrillSeries::metric, metric_name(hundredths), hundredths / 100.0});
  }
}

std::string upper_case(std::string_view text) {
  std::string upper;
  for (const char c : text) {
    if (c == ' ' || c == '.' || c == '\t') continue;
    upper += c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
  }
  return upper;
}

DrillChoice choice(const Drill& drill, double stock_mm) {
  return {drill, drill.diameter_mm / 2.0, stock_mm - drill.diameter_mm, false};
}

}  // namespace

std::string_view name(DrillSeries series) {
  switch (series) {
    case DrillSeries::number:
      return "number";
    case DrillSeries::letter:
      return "letter";
    case DrillSeries::fraction:
      return "fraction";
    case DrillSeries::metric:
      return "metric";
  }
  return "";
}

const std::vector<Drill>& drills() {
  static const std::vector<Drill> all = [] {
    std::vector<Drill> list;
    add_numbers(list);
    add_letters(list);
    add_fractions(list);
    add_metric(list);
    return list;
  }();
  return all;
}

std::optional<Drill> find_drill(std::string_view name) {
  std::string wanted = upper_case(name);
  if (wanted.starts_with("NO") && wanted.size() > 2) wanted = '#' + wanted.substr(2);
  for (const Drill& drill : drills()) {
    const bool by_name = drill.series == DrillSeries::number || drill.series == DrillSeries::letter;
    if (by_name && drill.name == wanted) return drill;
  }
  return std::nullopt;
}

std::vector<DrillChoice> drill_choices(double stock_mm, double land_mm) {
  constexpr double kMostOfLand = 3.0, kLeastGap_mm = 1e-6, kRounding_mm = 1e-9;
  const double wanted_mm = stock_mm - land_mm;
  std::vector<DrillChoice> choices;
  for (const DrillSeries series :
       {DrillSeries::number, DrillSeries::letter, DrillSeries::fraction, DrillSeries::metric}) {
    const Drill* thinner = nullptr;
    const Drill* thicker = nullptr;
    for (const Drill& drill : drills()) {
      if (drill.series != series) continue;
      if (drill.diameter_mm <= wanted_mm + kRounding_mm) thinner = &drill;
      if (drill.diameter_mm > wanted_mm + kRounding_mm && thicker == nullptr) thicker = &drill;
    }
    for (const Drill* drill : {thinner, thicker}) {
      if (drill == nullptr) continue;
      const DrillChoice each = choice(*drill, stock_mm);
      if (each.gap_mm > kLeastGap_mm && each.gap_mm <= kMostOfLand * land_mm) {
        choices.push_back(each);
      }
    }
  }
  const auto nearest = std::min_element(
      choices.begin(), choices.end(), [land_mm](const DrillChoice& a, const DrillChoice& b) {
        return std::abs(a.gap_mm - land_mm) < std::abs(b.gap_mm - land_mm);
      });
  if (nearest != choices.end()) nearest->nearest = true;
  return choices;
}

}  // namespace evenbevel
