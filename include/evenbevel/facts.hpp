#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace evenbevel {

/// To a decimal place, so that a file shows 0.031 rather than 0.031000000000000003.
double rounded(double value, int decimals);

class Facts;
struct Fact;

using FactValue = std::variant<bool, std::int64_t, double, std::string, std::vector<double>, Facts,
                               std::vector<Facts>>;

/// What is written down beside the numbers to be looked up later (camera, card, settings): by name,
/// in the order in which it was stated. Lengths mm, angles degrees.
class Facts {
 public:
  Facts& add_flag(std::string name, bool value);
  Facts& add_count(std::string name, std::int64_t value);
  /// Left out when empty or not finite.
  Facts& add_number(std::string name, const std::optional<double>& value, int decimals);
  Facts& add_mm(std::string name, const std::optional<double>& value) {
    return add_number(std::move(name), value, 5);
  }
  /// Left out when empty.
  Facts& add_text(std::string name, std::string value);
  Facts& add_list(std::string name, std::vector<double> values, int decimals = 5);
  Facts& add_part(std::string name, Facts part);
  Facts& add(std::string name, FactValue value);

  bool empty() const;
  /// Null: not stated.
  const FactValue* find(std::string_view name) const;
  std::optional<double> number(std::string_view name) const;
  std::string text(std::string_view name) const;   ///< Empty: not stated, or no text.
  const Facts& part(std::string_view name) const;  ///< Without facts: not stated, or no part.

  std::vector<Fact>::const_iterator begin() const;
  std::vector<Fact>::const_iterator end() const;

 private:
  std::vector<Fact> facts_;
};

struct Fact {
  std::string name = {};
  FactValue value = {};
};

}  // namespace evenbevel
