#include "evenbevel/facts.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace evenbevel {

double rounded(double value, int decimals) {
  const double scale = std::pow(10.0, decimals);
  const double result = std::round(value * scale) / scale;
  return result == 0.0 ? 0.0 : result;  // no "-0.0"
}

Facts& Facts::add(std::string name, FactValue value) {
  facts_.push_back({std::move(name), std::move(value)});
  return *this;
}

Facts& Facts::add_flag(std::string name, bool value) { return add(std::move(name), value); }

Facts& Facts::add_count(std::string name, std::int64_t value) {
  return add(std::move(name), value);
}

Facts& Facts::add_number(std::string name, const std::optional<double>& value, int decimals) {
  if (!value || !std::isfinite(*value)) return *this;
  return add(std::move(name), rounded(*value, decimals));
}

Facts& Facts::add_text(std::string name, std::string value) {
  if (value.empty()) return *this;
  return add(std::move(name), std::move(value));
}

Facts& Facts::add_list(std::string name, std::vector<double> values, int decimals) {
  for (double& value : values) value = rounded(value, decimals);
  return add(std::move(name), std::move(values));
}

Facts& Facts::add_part(std::string name, Facts part) {
  return add(std::move(name), std::move(part));
}

bool Facts::empty() const { return facts_.empty(); }

const FactValue* Facts::find(std::string_view name) const {
  const auto found = std::ranges::find(facts_, name, &Fact::name);
  return found == facts_.end() ? nullptr : &found->value;
}

std::optional<double> Facts::number(std::string_view name) const {
  const FactValue* value = find(name);
  if (value == nullptr) return std::nullopt;
  if (const auto* number = std::get_if<double>(value)) return *number;
  if (const auto* count = std::get_if<std::int64_t>(value)) return static_cast<double>(*count);
  return std::nullopt;
}

std::string Facts::text(std::string_view name) const {
  const FactValue* value = find(name);
  const auto* text = value == nullptr ? nullptr : std::get_if<std::string>(value);
  return text == nullptr ? std::string() : *text;
}

const Facts& Facts::part(std::string_view name) const {
  static const Facts none;
  const FactValue* value = find(name);
  const auto* part = value == nullptr ? nullptr : std::get_if<Facts>(value);
  return part == nullptr ? none : *part;
}

std::vector<Fact>::const_iterator Facts::begin() const { return facts_.begin(); }
std::vector<Fact>::const_iterator Facts::end() const { return facts_.end(); }

}  // namespace evenbevel
