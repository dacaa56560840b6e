#include <array>
#include <charconv>
#include <cmath>
#include <string>

#include "evenbevel/report.hpp"
#include "report/quantities.hpp"

namespace evenbevel {
namespace {

constexpr int kLengthDecimals = 5;  // 0.01 um: far below any u, and it does not move in a sum
constexpr int kPixelDecimals = 3;

std::string number(double value, int decimals) {
  if (!std::isfinite(value)) return "";
  std::array<char, 400> digits{};
  const auto [end, fault] = std::to_chars(digits.data(), digits.data() + digits.size(), value,
                                          std::chars_format::fixed, decimals);
  return fault == std::errc() ? std::string(digits.data(), end) : std::string();
}

std::string header() {
  std::string line = "x_mm,px_x,px_y";
  for (const StationQuantity& quantity : station_quantities()) {
    for (const char* column : {"_mm", "_u_mm", "_U95_mm"}) {
      line += ',';
      line += quantity.name;
      line += column;
    }
  }
  return line + ",residual_px\n";
}

std::string row(const EdgeStation& station) {
  std::string line = number(station.x_mm, 3);
  const auto add = [&line](const std::string& text) {
    line += ',';
    line += text;
  };
  const bool seen = anything_seen(station);
  add(seen ? number(station.px.x(), kPixelDecimals) : "");
  add(seen ? number(station.px.y(), kPixelDecimals) : "");
  for (const StationQuantity& quantity : station_quantities()) {
    const std::optional<Measured> value = measured(station.*quantity.member);
    add(value ? number(value->value, kLengthDecimals) : "");
    add(value ? number(value->u, kLengthDecimals) : "");
    add(value ? number(U95(*value), kLengthDecimals) : "");
  }
  const bool fitted = station.centreline_offset_mm.has_value();
  add(fitted ? number(station.residual_px, kPixelDecimals) : "");
  return line + '\n';
}

}  // namespace

std::string edge_csv(const EdgeResult& result) {
  std::string text = header();
  for (const EdgeStation& station : result.stations) text += row(station);
  return text;
}

}  // namespace evenbevel
