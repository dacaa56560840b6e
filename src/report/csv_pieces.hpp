#pragma once

#include <optional>
#include <string>

#include <Eigen/Core>

#include "report/quantities.hpp"

namespace evenbevel {

/// RFC 4180, 2: quoted where it must be. What a spreadsheet would run as a formula is led by an
/// apostrophe, so that it stays text.
std::string csv_text(std::string text);

/// One line of stations.csv: mm, degrees, px. A field without a number is empty.
class CsvRow {
 public:
  CsvRow& text(const std::string& field);
  CsvRow& number(const std::optional<double>& value, int decimals);
  CsvRow& length_mm(double value) { return number(value, 3); }
  CsvRow& px(const std::optional<double>& value) { return number(value, 3); }
  CsvRow& px(const std::optional<Eigen::Vector2d>& place);
  CsvRow& stated(const StatedQuantity* quantity);  ///< Value, u, U95; null: not seen.

  std::string line() const { return line_ + '\n'; }

 private:
  std::string line_;
  bool first_ = true;
};

/// The heading's three columns of a quantity: value, u, U95 with the unit.
void add_columns(CsvRow& heading, const std::string& quantity, QuantityKind kind);

}  // namespace evenbevel
