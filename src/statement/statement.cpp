#include "evenbevel/statement.hpp"

#include <algorithm>

#include "evenbevel/units.hpp"

namespace evenbevel {

namespace {

constexpr int kStatedDecimals = 5;

Stated stated_times(double factor, const Measured& value) {
  return {rounded(factor * value.value, kStatedDecimals),
          rounded(factor * value.u, kStatedDecimals),
          rounded(factor * U95(value), kStatedDecimals)};
}

}  // namespace

Stated stated_length(const Measured& mm) { return stated_times(1.0, mm); }

Stated stated_angle(const Measured& rad) { return stated_times(degrees(1.0), rad); }

const StatedQuantity* find(std::span<const StatedQuantity> quantities, std::string_view id) {
  const auto found = std::ranges::find(quantities, id, &StatedQuantity::id);
  return found == quantities.end() ? nullptr : &*found;
}

std::optional<Eigen::Vector2d> StatedStation::px(std::string_view face,
                                                 std::string_view what) const {
  for (const PhotoPlace& place : places) {
    if (place.face == face && place.what == what) return place.px;
  }
  return std::nullopt;
}

namespace {

/// "0.25", "2".
std::string short_number(double value) {
  std::string text = std::to_string(value);
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  return text;
}

}  // namespace

std::string budget_name(const StatedQuantity& quantity) {
  return quantity.depth_mm ? quantity.id + "_" + short_number(*quantity.depth_mm) : quantity.id;
}

std::string budget_name(const StatedQuantity& quantity, const StatedQuantity& beside) {
  return beside.id + "_at_" + short_number(quantity.depth_mm.value_or(0.0));
}

std::vector<QuantityBudgetLine> whole_budget(const Statement& statement) {
  std::vector<QuantityBudgetLine> all;
  for (const StatedQuantity& quantity : statement.quantities) {
    for (const BudgetLine& line : quantity.budget) all.push_back({budget_name(quantity), line});
    for (const StatedQuantity& beside : quantity.beside) {
      const std::string name = budget_name(quantity, beside);
      for (const BudgetLine& line : beside.budget) all.push_back({name, line});
    }
  }
  all.insert(all.end(), statement.budget.begin(), statement.budget.end());
  return all;
}

bool on_the_blade(const Remark& advice) { return kind_of(advice.code).on_blade; }

const DeclaredQuantity* find(std::span<const DeclaredQuantity> declared, std::string_view id) {
  const auto found = std::ranges::find(declared, id, &DeclaredQuantity::id);
  return found == declared.end() ? nullptr : &*found;
}

const char* left_and_right() {
  return "left and right are the knife's: edge down, tip away from you";
}

}  // namespace evenbevel
