#pragma once

#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "advice/numbers.hpp"
#include "evenbevel/statement.hpp"
#include "evenbevel/uncertainty.hpp"
#include "evenbevel/units.hpp"

namespace evenbevel {

/// One name for the JSON key, the CSV column, the budget and the page.
struct QuantityName {
  const char* name = "";
  const char* label = "";  ///< Plain words.
  QuantityKind kind = QuantityKind::length;
  bool at_a_glance = false;  ///< On the terminal too; the rest is in the files.
};

inline constexpr bool kAtAGlance = true;

/// A quantity as a member of a result or of a station.
template <class Of>
struct QuantityOf {
  const char* name;
  const char* label;
  std::optional<Measured> Of::*member;
  QuantityKind kind = QuantityKind::length;
  bool at_a_glance = false;

  QuantityName what() const { return {name, label, kind, at_a_glance}; }
};

/// A quantity that was measured.
struct Quantity {
  QuantityName what;
  Measured value;

  bool is(std::string_view name) const { return name == what.name; }
};

/// The value if it was measured. A value or uncertainty that is not finite counts as not measured.
std::optional<Measured> measured(const std::optional<Measured>& value);

template <class Of>
std::vector<Quantity> measured_of(std::span<const QuantityOf<Of>> table, const Of& of) {
  std::vector<Quantity> all;
  for (const QuantityOf<Of>& quantity : table) {
    const std::optional<Measured> value = measured(of.*quantity.member);
    if (value) all.push_back({quantity.what(), *value});
  }
  return all;
}

template <class Of>
std::vector<QuantityName> names_of(std::span<const QuantityOf<Of>> table) {
  std::vector<QuantityName> names;
  names.reserve(table.size());
  for (const QuantityOf<Of>& quantity : table) names.push_back(quantity.what());
  return names;
}

/// Null when none of them has that name.
const QuantityName* find_name(std::span<const QuantityName> names, std::string_view name);

Printed printed(QuantityKind kind, const Measured& value, LengthUnit unit);
Printed printed(QuantityKind kind, const Stated& value, LengthUnit unit);
inline Printed printed(const Quantity& quantity, LengthUnit unit) {
  return printed(quantity.what.kind, quantity.value, unit);
}

/// What is said beside a quantity's number; may be empty.
using NoteOf = std::function<std::string(const Quantity&, LengthUnit)>;

/// Whether the 95 % interval does not hold zero.
bool resolved(const Measured& value);

}  // namespace evenbevel
