#include "report/svg_pieces.hpp"

#include <algorithm>
#include <cmath>

#include "report/page.hpp"
#include "units/fixed.hpp"

namespace evenbevel {

std::string coordinate(double value) { return fixed(value, 1); }

double nice_step(double range, double count) {
  const double rough = range / count;
  const double decade = std::pow(10.0, std::floor(std::log10(rough)));
  for (const double multiple : {1.0, 2.0, 5.0}) {
    if (multiple * decade >= rough) return multiple * decade;
  }
  return 10.0 * decade;
}

std::vector<double> ticks(double low, double high, double step) {
  const double first = std::ceil(low / step) * step;
  std::vector<double> at;
  for (int k = 0; first + k * step <= high; ++k) at.push_back(first + k * step);
  return at;
}

std::string tick_label(double value, double step) {
  const int decimals = std::max(0, static_cast<int>(std::ceil(-std::log10(step) - 1e-9)));
  const double clean = std::abs(value) < 0.5 * step ? 0.0 : value;
  return fixed(clean, decimals);
}

std::string line(const char* style, double x1, double y1, double x2, double y2) {
  return std::string("<line class=\"") + style + "\" x1=\"" + coordinate(x1) + "\" y1=\"" +
         coordinate(y1) + "\" x2=\"" + coordinate(x2) + "\" y2=\"" + coordinate(y2) + "\"/>\n";
}

std::string text(double x, double y, const char* anchor, const std::string& words) {
  return "<text x=\"" + coordinate(x) + "\" y=\"" + coordinate(y) + "\" text-anchor=\"" + anchor +
         "\">" + escaped(words) + "</text>\n";
}

std::string key(const std::string& drawing, const InUnits& words) {
  return "<span class=\"key\"><svg viewBox=\"0 0 60 20\" aria-hidden=\"true\">" + drawing +
         "</svg>" + escaped(words) + "</span>\n";
}

}  // namespace evenbevel
