#pragma once

#include <string>
#include <vector>

#include "report/page.hpp"

namespace evenbevel {

// The parts of drawings within a page. Coordinates are the drawing's own.

std::string coordinate(double value);

/// A step of 1, 2 or 5 times a power of ten that cuts `range` into about `count`.
double nice_step(double range, double count);

std::vector<double> ticks(double low, double high, double step);

/// With as many decimals as the step needs.
std::string tick_label(double value, double step);

std::string line(const char* style, double x1, double y1, double x2, double y2);

/// @param anchor  "start", "middle" or "end".
std::string text(double x, double y, const char* anchor, const std::string& words);

/// A legend's entry; the drawing is 60 wide and 20 high.
std::string key(const std::string& drawing, const InUnits& words);

}  // namespace evenbevel
